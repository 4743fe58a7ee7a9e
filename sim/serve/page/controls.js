// What can be turned: the two sliders of the first screen, and on request tasks, people and all settings.

import { briefly, byId, make, withoutPace } from "./base.js";
import { nameOf, say, short } from "./words.js";

/** The four settings; what they do stands among the words. */
export const SETTINGS = ["swing-flexion", "swing-extension", "stance-yield", "catch-load"];

/** What both legs share and has a control of its own. */
const SHARED = ["person", "prosthesis", "knee", "temperature_c", "foot_extra_mass_kg", "speed_m_per_s"];

/** Question and sliders of the first screen, by kind of task. */
const TASKS = [
  { kind: "walk", turns: ["speed_m_per_s", "swing-flexion"] },
  { kind: "sit", turns: ["stance-yield", "catch-load"] },
  { kind: "ramp", turns: ["stance-yield", "catch-load"] },
  { kind: "stairs", turns: ["stance-yield", "catch-load"] },
  { kind: "stumble", turns: ["stance-yield", "catch-load"] },
  { kind: "stand", turns: ["foot_shift_m", "stand_slope_deg"] },
];

/** Walking at a pace that is a factor of the person's own: a speed of one's own would take that away. */
const PACED = { kind: "paced", turns: ["swing-flexion", "swing-extension"] };

/** Sliders of a leg that are no settings. */
const OF_THE_LEG = {
  foot_shift_m: { least: -0.04, most: 0.04, step: 0.005 },
  stand_slope_deg: { least: -10, most: 10, step: 1 },
};

/** Name of a slider and what it does. */
export const settingWords = (key) => ({ name: say(`settings.${key}`), about: say(`does.${key}`) });

const taskOf = (scenario) => (scenario.paced_by_factor ? PACED : TASKS.find((t) => t.kind === scenario.kind) ?? TASKS[0]);

/** A speed can be chosen. */
const hasSpeed = (scenario) => scenario.kind === "walk" && !scenario.paced_by_factor;

/** A slider with its name, what it does, and its value. */
export function slider({ id, name, about, least, most, step, value, unit, input }) {
  const said = (v) => `${short(Number(v), step < 0.01 ? 3 : 2)} ${unit}`;
  const range = make("input", { type: "range", id, min: least, max: most, step, value, "aria-valuetext": said(value) });
  const out = make("output", { for: id }, said(value));
  range.addEventListener("input", () => {
    out.textContent = said(range.value);
    range.setAttribute("aria-valuetext", said(range.value));
    input(range.value);
  });
  const line = make("div", { class: "slider" },
    make("label", { for: id }, make("strong", {}, name), about ? make("span", {}, ` ${about}`) : null), out, range);
  line.put = (v, can = true) => {
    range.disabled = !can;
    if (document.activeElement === range && can) return;
    if (can) range.value = v;
    out.textContent = can ? said(v) : say("controls.none");
    range.setAttribute("aria-valuetext", out.textContent);
  };
  return line;
}

function select({ id, name, options, value, input }) {
  const box = make("select", { id }, ...options.map((o) => make("option", { value: o.value, selected: o.value === value }, o.label)));
  box.addEventListener("change", () => input(box.value));
  return make("div", { class: "choice" }, make("label", { for: id }, name), box);
}

export class Controls {
  /** `changed()` is called after the state was changed. */
  constructor(start, state, changed) {
    Object.assign(this, { start, state, changed, sliders: [] });
    document.querySelectorAll("form").forEach((f) => f.addEventListener("submit", (e) => e.preventDefault()));
  }

  scenario() {
    return this.start.scenarios.find((s) => s.name === this.state.task) ?? this.start.scenarios[0];
  }

  /** Builds everything anew for the state. */
  build() {
    this.sliders = [];
    this.buildTask();
    this.buildShared();
    this.buildLegs();
  }

  /** Question and the two sliders of the first screen. */
  buildTask() {
    const task = taskOf(this.scenario());
    this.forget("turn");
    byId("question").textContent = say(`tasks.${task.kind}`);
    byId("sliders").replaceChildren(...task.turns.map((key) => this.turn("turn", key, 1)));
  }

  buildLegs() {
    [0, 1].forEach((i) => {
      const letter = "ab"[i];
      this.forget(`leg-${letter}`);
      byId(`leg-${letter}`).replaceChildren(
        make("legend", {}, make("span", { class: `tag tag-${letter}` }, letter.toUpperCase()),  ` ${say(i ? "controls.tried" : "controls.compared")}`),
        ...SETTINGS.map((key) => this.turn(`leg-${letter}`, key, i)),
        ...this.others(this.state.legs[i], SETTINGS, () => this.buildLegs()));
    });
  }

  /** The sliders of a place are built anew. */
  forget(place) {
    this.sliders = this.sliders.filter((s) => s.place !== place);
  }

  /** A slider for a setting of a leg, or for something that both share. */
  turn(place, key, leg) {
    if (key === "speed_m_per_s") return this.shared(place, key, say("controls.speed"), 0.6, 1.6, 0.05, "m/s", this.scenario().own.speed_m_per_s);
    const own = this.scenario().own[key] ?? 0;
    const look = OF_THE_LEG[key]
      ? { ...OF_THE_LEG[key], ...settingWords(key), unit: this.start.inputs.find((i) => i.key === key).unit, value: this.state.legs[leg][key] ?? own }
      : { ...settingWords(key), least: 0, most: 100, step: 1, unit: "%", value: this.state.legs[leg][key] ?? this.own(key) };
    const line = slider({
      id: `${place}-${key}`,
      ...look,
      input: (v) => {
        this.state.legs[leg][key] = v;
        this.changed(line);
      },
    });
    this.sliders.push({ place, line, leg, key, own });
    return line;
  }

  /** A dial turns a setting of B, and the sliders of it. */
  turnDial(key, value) {
    this.state.legs[1][key] = String(value);
    const lines = this.sliders.filter((s) => s.leg === 1 && s.key === key).map((s) => s.line);
    lines.forEach((line) => line.put(value));
    this.changed(lines[0]);
  }

  own(key) {
    return this.start.settings.find((s) => s.key === key)?.own ?? 0;
  }

  shared(place, key, name, least, most, step, unit, own) {
    const line = slider({
      id: `${place}-${key}`, name, least, most, step, value: this.state.all[key] ?? own, unit,
      input: (v) => {
        this.state.all[key] = v;
        this.changed(line);
      },
    });
    this.sliders.push({ place, line, key, own });
    return line;
  }

  buildShared() {
    this.forget("all");
    const models = (key, name, list) => select({
      id: `all-${key}`, name, value: this.state.all[key] ?? this.start.base[key],
      options: list.map((m) => ({ value: m.name, label: m.name })),
      input: (v) => {
        this.state.all[key] = v;
        if (key === "knee") {
          // another knee has settings of its own
          this.state.legs = [{}, {}];
          this.buildTask();
          this.buildLegs();
        }
        this.changed();
      },
    });
    byId("shared").replaceChildren(
      select({
        id: "task", name: say("controls.task"), value: this.scenario().name,
        options: this.start.scenarios.map((s) => ({ value: s.name, label: withoutPace(briefly(s)) })),
        input: (v) => {
          this.state.task = v;
          delete this.state.all.speed_m_per_s;
          // the list itself stays: who types a name in it is not interrupted
          this.buildTask();
          this.showSpeed();
          this.changed();
        },
      }),
      models("person", say("controls.person"), this.start.people),
      models("prosthesis", say("controls.prosthesis"), this.start.prostheses),
      models("knee", say("controls.knee"), this.start.knees),
      this.shared("all", "temperature_c", say("controls.temperature"), -10, 50, 1, "°C", this.start.temperature_c),
      this.shared("all", "foot_extra_mass_kg", say("controls.footMass"), 0, 1.5, 0.05, "kg", 0));
    this.speed = this.shared("all", "speed_m_per_s", say("controls.speed"), 0.6, 1.6, 0.05, "m/s", 1.1);
    byId("shared").append(this.speed, ...this.others(this.state.all, this.known(), () => this.buildShared()));
    this.showSpeed();
  }

  /** What both share and has a control now; a speed without one can at least be taken back. */
  known() {
    const scenario = this.scenario();
    return scenario.paced_by_factor ? SHARED.filter((key) => key !== "speed_m_per_s") : SHARED;
  }

  showSpeed() {
    this.speed.hidden = !hasSpeed(this.scenario());
  }

  /** Changes that have no slider, each with a button that takes it back. */
  others(pairs, known, rebuild) {
    return Object.entries(pairs).filter(([key]) => !known.includes(key)).map(([key, value]) =>
      make("p", { class: "other" }, `${nameOf("settings", key)} = ${value} `, make("button", {
        type: "button",
        onclick: () => {
          delete pairs[key];
          rebuild();
          this.changed();
        },
      }, say("controls.takeBack", { name: nameOf("settings", key) }))));
  }

  /** Puts the values that acted into all sliders but the one being moved. */
  put(answer) {
    for (const { line, leg, key, own } of this.sliders) {
      // what acts in B: the scenario's speed depends on the person
      if (key === "speed_m_per_s") line.put(answer.legs[1].animation?.speed_m_per_s || (this.state.all[key] ?? this.scenario().own[key] ?? own));
      else if (leg === undefined) line.put(this.state.all[key] ?? own);
      else if (key in OF_THE_LEG) line.put(this.state.legs[leg][key] ?? this.state.all[key] ?? own);
      else {
        const [given, acting] = [this.state.legs[leg][key], answer.legs[leg].settings[key]];
        line.put(given ?? acting, given !== undefined || acting !== undefined);
      }
    }
  }
}
