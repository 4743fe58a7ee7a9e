// A measured knee beside the model's, its heel contact to be dragged, what was seen, and the ranked steps.
//
// The table is read by the engine on this machine, as `identify` and `next` read theirs, and kept by this tab alone.

import { byId, draw, make } from "./base.js";
import { say } from "./words.js";

/** A table that is longer is thinned: a question has at most 64 KiB. */
const LARGEST = 48 * 1024;
/** What can be said of a symptom; the last two are grades of `next`. */
const GRADES = ["open", "none", "slight", "clear"];
const PLOT = { width: 640, height: 240, left: 40, right: 24, top: 10, bottom: 34, least: -10, most: 80 };

export class Measured {
  /** `shown()` is what the page shows now. */
  constructor(start, engine, shown) {
    Object.assign(this, { start, engine, shown, table: "", later: 0, curve: null });
    this.build();
  }

  build() {
    this.note = make("p", { class: "fine", role: "status" }, say("measured.table"));
    this.file = make("input", { type: "file", id: "measured-file", accept: ".csv,.txt,.tsv,.sto,.mot" });
    this.file.addEventListener("change", () => this.load(this.file.files[0]));
    this.columns = make("input", { type: "text", id: "measured-columns", placeholder: "knee_deg=-knee_angle_r", autocomplete: "off" });
    this.columns.addEventListener("change", () => this.ask());
    this.slider = make("input", { type: "range", id: "measured-later", min: -20, max: 20, step: 1, value: 0 });
    this.slider.addEventListener("input", () => this.move(Number(this.slider.value)));
    this.slider.addEventListener("change", () => this.ask());
    this.plot = make("div", { id: "measured-plot" });
    this.symptoms = this.start.symptoms.map((s) => {
      const box = make("select", { id: `seen-${s.name}` }, ...GRADES.map((g) => make("option", { value: g }, say(`measured.${g}`))));
      return { name: s.name, box, line: make("div", { class: "choice" }, make("label", { for: box.id }, s.about), box) };
    });
    this.button = make("button", { type: "button", id: "measured-next", onclick: () => this.next() }, say("measured.next"));
    this.found = make("div", { id: "measured-found", role: "status" });
    byId("measured").replaceChildren(
      make("div", { class: "choice" }, make("label", { for: "measured-file" }, say("measured.knee")), this.file),
      make("div", { class: "choice" }, make("label", { for: "measured-columns" }, say("measured.columns")), this.columns),
      this.note,
      this.plot,
      make("div", { class: "choice" }, make("label", { for: "measured-later" }, say("measured.later")), this.slider),
      ...this.engine.manyRuns ? [
        make("fieldset", {}, make("legend", {}, say("measured.seen")), ...this.symptoms.map((s) => s.line)),
        make("div", { class: "row" }, this.button),
        this.found,
      ] : [make("p", { class: "fine" }, say("measured.notHere"))]);
  }

  async load(file) {
    if (!file) return;
    const text = await file.text();
    this.table = thinned(text);
    this.later = 0;
    this.slider.value = 0;
    this.ask();
  }

  /** Scenario and leg B of what is shown now. */
  question() {
    const { question } = this.shown();
    return {
      scenario: question.scenario,
      leg: question.legs[1] ?? question.legs[0],
      table: this.table,
      columns: this.columns.value.split(",").map((c) => c.trim()).filter(Boolean),
      later_pct: this.later,
    };
  }

  async ask() {
    if (!this.table || !this.shown()) return;
    try {
      this.curve = await this.engine.curve(this.question());
      this.from = this.later;
      this.note.textContent = say("measured.mean", { words: this.curve.said, count: this.curve.strides });
    } catch (e) {
      this.curve = null;
      this.note.textContent = e.message;
    }
    this.drawn();
  }

  /** Heel contact moves; what is drawn goes along at once, the program is asked when it rests. */
  move(later) {
    this.later = later;
    this.drawn();
  }

  /** Measured and model over the stride. */
  drawn() {
    const model = this.shown()?.animations[1] ?? this.shown()?.animations[0];
    if (!this.curve) return this.plot.replaceChildren();
    const turned = this.later - this.from;
    const n = this.curve.knee_deg.length - 1;
    const measured = Array.from({ length: n + 1 }, (_, i) => this.curve.knee_deg[(((i + turned) % n) + n) % n]);
    const period = model?.landing_from_s;
    const ours = period ? measured.map((_, i) => model.at("knee_deg", (i / n) * period)) : [];
    const x = (pct) => PLOT.left + (pct / 100) * (PLOT.width - PLOT.left - PLOT.right);
    const y = (deg) => PLOT.top + ((PLOT.most - deg) / (PLOT.most - PLOT.least)) * (PLOT.height - PLOT.top - PLOT.bottom);
    const line = (values, name) => draw("polyline", { class: name, points: values.map((v, i) => `${x((100 * i) / n).toFixed(1)},${y(v).toFixed(1)}`).join(" ") });
    const text = (at, words, anchor = "middle") => draw("text", { x: at[0], y: at[1], "text-anchor": anchor }, words);
    const svg = draw("svg", { viewBox: `0 0 ${PLOT.width} ${PLOT.height}`, role: "img", "aria-label": say("measured.picture", { measured: Math.max(...measured).toFixed(0), model: ours.length ? Math.max(...ours).toFixed(0) : "–" }) },
      ...[0, 20, 40, 60, 80].flatMap((deg) => [draw("line", { class: "grid", x1: x(0), x2: x(100), y1: y(deg), y2: y(deg) }), text([x(0) - 6, y(deg) + 4], `${deg}°`, "end")]),
      ...[0, 25, 50, 75, 100].map((pct) => text([x(pct), PLOT.height - 18], `${pct} %`)),
      text([x(50), PLOT.height - 2], say("measured.axis")),
      line(ours, "model"),
      line(measured, "own"));
    svg.addEventListener("pointerdown", (e) => this.drag(e, svg));
    this.plot.replaceChildren(svg, make("ul", { class: "legend" }, make("li", { class: "own" }, say("measured.measured")), make("li", { class: "model" }, say("measured.model"))));
  }

  drag(e, svg) {
    const from = e.clientX;
    const before = this.later;
    const width = svg.getBoundingClientRect().width * (1 - (PLOT.left + PLOT.right) / PLOT.width);
    const moved = (m) => {
      // the curve follows the hand: heel contact comes later when it is pulled to the left
      const later = Math.max(-20, Math.min(20, Math.round(before - (100 * (m.clientX - from)) / width)));
      this.slider.value = later;
      this.move(later);
    };
    window.addEventListener("pointermove", moved);
    window.addEventListener("pointerup", () => {
      window.removeEventListener("pointermove", moved);
      this.ask();
    }, { once: true });
  }

  /** The ranked steps, as `kneedamp next` has them. */
  async next() {
    const seen = [];
    const notSeen = [];
    for (const { name, box } of this.symptoms) {
      if (box.value === "none") notSeen.push(name);
      else if (box.value !== "open") seen.push(`${name}:${box.value}`);
    }
    this.button.disabled = true;
    this.found.replaceChildren(make("p", {}, say("measured.wait")));
    try {
      const { text, columns, rows } = await this.engine.next({ ...this.question(), seen, not_seen: notSeen });
      const cells = (tag, row) => make("tr", {}, ...row.map((c) => make(tag, {}, c)));
      this.found.replaceChildren(
        ...text.map((t) => make("p", {}, t)),
        make("div", { class: "wide" }, make("table", {}, make("caption", {}, say("measured.steps")), make("thead", {}, cells("th", columns)), make("tbody", {}, ...rows.map((r) => cells("td", r))))),
        make("p", { class: "fine" }, this.start.caution));
    } catch (e) {
      this.found.replaceChildren(make("p", {}, e.message));
    }
    this.button.disabled = false;
    window.dispatchEvent(new CustomEvent("kneedamp:advised"));
  }
}

/** Every second row is left out until a table is small enough; the header stays. */
function thinned(text) {
  let lines = text.split(/\r?\n/);
  const numeric = (l) => /^[\s\d.+-]/.test(l);
  const head = lines.slice(0, Math.max(0, lines.findIndex(numeric)));
  let rows = lines.slice(head.length);
  while (rows.length > 100 && head.join("\n").length + rows.join("\n").length > LARGEST) rows = rows.filter((_, i) => i % 2 === 0);
  return [...head, ...rows].join("\n");
}
