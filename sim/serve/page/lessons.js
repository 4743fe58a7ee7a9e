// Lessons: situation, what to watch, guess, reveal with the numbers computed, why, what a prosthetist would
// consider. Nothing is typed here but the words around them.

import { briefly, byId, make, show } from "./base.js";
import { card, table } from "./verdict.js";
import { legPairs, legText } from "./state.js";

const LETTERS = "ABCD";
/** What can be voted for: the three verdicts. */
const VOTES = [["within every limit", "within"], ["is doubtful", "doubtful"], ["breaks a limit", "outside"]];

export class Lessons {
  /** `go()` is called after the state was changed. */
  constructor(start, state, engine, go) {
    Object.assign(this, { start, state, engine, go, votes: VOTES.map(() => 0) });
  }

  get lesson() {
    return this.start.lessons.find((l) => l.number === this.state.lesson);
  }

  /** Begins a lesson, nothing revealed. */
  open(number) {
    const lesson = this.start.lessons.find((l) => l.number === number) ?? this.start.lessons[0];
    Object.assign(this.state, {
      lesson: lesson.number,
      task: lesson.scenarios[0],
      legs: [legPairs(lesson.variants[0]), legPairs(lesson.variants[lesson.vote.variant])],
      revealed: false,
    });
    this.votes = VOTES.map(() => 0);
  }

  /** Takes from an address what a lesson can have: A is always its first variant; B must be one of its steps. */
  settle() {
    const { lesson, state } = this;
    if (!lesson.scenarios.includes(state.task)) state.task = state.revealed ? lesson.vote.scenario : lesson.scenarios[0];
    const given = state.legs[1] && this.onGrid(state.legs[1]);
    state.legs = [legPairs(lesson.variants[0]), given ?? legPairs(lesson.variants[lesson.vote.variant])];
  }

  /** The same leg with its keys in the order of the grid; null if it is none of the lesson's steps. */
  onGrid(pairs) {
    const { lesson } = this;
    const found = {};
    for (const { key, values } of lesson.sliders) {
      if (!values.includes(pairs[key] ?? "")) return null;
      if (pairs[key]) found[key] = pairs[key];
    }
    const alike = Object.keys(found).length === Object.keys(pairs).length;
    return alike && Object.entries(found).every(([key, value]) => pairs[key] === value) ? found : null;
  }

  /** Its number and title, the same as on the command line. */
  name(lesson) {
    return `${lesson.number}. ${lesson.title}`;
  }

  /** The buttons of all lessons. */
  list() {
    byId("lesson-list").replaceChildren(...this.start.lessons.map((l) => make("button", {
      type: "button",
      class: "lesson-button",
      "aria-pressed": String(l.number === this.state.lesson),
      onclick: () => {
        this.open(l.number);
        this.go();
        byId("question").focus();
      },
    }, this.name(l))));
  }

  /** What a variant changes, in words: `swing-flexion 0 %`. */
  said(text) {
    return this.inWords(legPairs(text)) || "as it is";
  }

  inWords(pairs) {
    return Object.entries(pairs).map(([key, value]) => {
      const input = this.start.inputs.find((i) => i.key === key);
      const setting = this.start.settings.some((s) => s.key === key);
      return `${input && !setting ? input.label : key} ${value} ${input?.unit ?? ""}`.trim();
    }).join(", ");
  }

  /** A task in a few words. */
  task(name) {
    return briefly(this.start.scenarios.find((s) => s.name === name));
  }

  build() {
    const { lesson, state } = this;
    this.list();
    byId("question").textContent = this.name(lesson);
    byId("lesson-brief").replaceChildren(
      make("p", {}, lesson.situation),
      make("p", {}, make("strong", {}, "What to watch: "), lesson.watch),
      make("p", { class: "guess-question" }, make("strong", {}, "Guess: "), lesson.question));
    this.buildSliders();
    this.buildGuess();
    show(byId("lesson-found"), state.revealed);
    if (state.revealed) this.found();
    else byId("lesson-found").replaceChildren();
  }

  buildGuess() {
    const { lesson, state } = this;
    const box = byId("lesson-guess");
    show(box, true);
    if (state.revealed) {
      box.replaceChildren();
      return;
    }
    const about = `${this.task(lesson.vote.scenario)}, ${LETTERS[lesson.vote.variant]}: ${this.said(lesson.variants[lesson.vote.variant])}`;
    const buttons = VOTES.map(([name], i) => {
      const button = make("button", { type: "button", class: "vote" }, this.votes[i] ? `${name}: ${this.votes[i]}` : name);
      button.addEventListener("click", () => {
        this.votes[i] += 1;
        button.textContent = `${name}: ${this.votes[i]}`;
      });
      return button;
    });
    const reveal = make("button", {
      type: "button",
      class: "reveal",
      onclick: () => {
        state.revealed = true;
        state.task = lesson.vote.scenario;
        this.go();
        byId("lesson-found").focus();
      },
    }, "Reveal");
    box.replaceChildren(
      make("fieldset", {}, make("legend", {}, `Your guess, or one press per vote of the class: ${about}`),
        make("div", { class: "row" }, ...buttons)),
      reveal);
  }

  /** Task, variant, and the sliders of B over the steps of the lesson's grid. */
  buildSliders() {
    const { lesson, state } = this;
    const radios = (name, legend, options, picked, pick) => make("fieldset", { class: "pick" }, make("legend", {}, legend),
      ...options.map(([value, label]) => {
        const box = make("input", { type: "radio", name, value, checked: value === picked, id: `${name}-${value}` });
        box.addEventListener("change", () => pick(value));
        return make("span", {}, box, make("label", { for: `${name}-${value}` }, label));
      }));
    const task = lesson.scenarios.length > 1
      ? radios("lesson-task", "Task", lesson.scenarios.map((s) => [s, this.task(s)]), state.task, (s) => {
        state.task = s;
        this.go("task");
      })
      : null;
    if (!state.revealed) {
      byId("sliders").replaceChildren(...[task].filter(Boolean));
      return;
    }
    const now = legText(state.legs[1]);
    const variants = lesson.variants.slice(1).map((v, i) => [String(i + 1), `${LETTERS[i + 1]}: ${this.said(v)}`]);
    const picked = String(lesson.variants.indexOf(now));
    byId("sliders").replaceChildren(...[
      task,
      radios("lesson-variant", `Next to A (${this.said(lesson.variants[0])})`, variants, picked, (i) => {
        state.legs[1] = legPairs(lesson.variants[Number(i)]);
        this.go("variant");
      }),
      ...lesson.sliders.map((s, i) => this.gridSlider(s, i)),
      make("p", { class: "fine" }, `The slider moves in steps: ${lesson.sliders.map((s) => `${s.label} ${s.said[0]} to ${s.said.at(-1)}, ${s.values.length} steps`).join("; ")}.`),
    ].filter(Boolean));
  }

  gridSlider(slider, number) {
    const { lesson, state } = this;
    const at = Math.max(0, slider.values.indexOf(state.legs[1][slider.key] ?? ""));
    const id = `grid-${number}`;
    const range = make("input", { type: "range", id, min: 0, max: slider.values.length - 1, step: 1, value: at, "aria-valuetext": slider.said[at] });
    const out = make("output", { for: id }, slider.said[at]);
    range.addEventListener("input", () => {
      out.textContent = slider.said[range.value];
      range.setAttribute("aria-valuetext", slider.said[range.value]);
      const pairs = {};
      lesson.sliders.forEach((s, i) => {
        const value = s.values[byId(`grid-${i}`).value];
        if (value !== "") pairs[s.key] = value;
      });
      state.legs[1] = pairs;
      // a variant is picked only where the slider stands on it
      const picked = lesson.variants.indexOf(legText(pairs));
      document.querySelectorAll('input[name="lesson-variant"]').forEach((r) => {
        r.checked = r.value === String(picked);
      });
      this.go("slider");
    });
    return make("div", { class: "slider" }, make("label", { for: id }, make("strong", {}, "B: "), slider.label), out, range);
  }

  /** Everything that was computed: every task, every variant. */
  async found() {
    const { lesson } = this;
    const answers = [];
    for (const scenario of lesson.scenarios) {
      answers.push(await this.engine.answer({ scenario, legs: lesson.variants }));
    }
    if (lesson !== this.lesson || !this.state.revealed) return;
    const voted = answers[lesson.scenarios.indexOf(lesson.vote.scenario)].legs[lesson.vote.variant];
    const right = VOTES.findIndex(([, verdict]) => verdict === voted.verdict);
    const cast = this.votes.reduce((sum, n) => sum + n, 0);
    const blocks = answers.flatMap((answer, s) => [
      make("h3", {}, this.task(lesson.scenarios[s])),
      make("div", { class: "cards" }, ...answer.legs.map((leg, i) => make("div", {},
        card("abcd"[i], leg, `${LETTERS[i]}: ${this.said(lesson.variants[i])}`, "h4"),
        answer.noticed[i] ? make("details", {}, make("summary", {}, "Against A, in full"), make("p", {}, answer.noticed[i])) : null))),
    ]);
    const next = this.start.lessons.find((l) => l.number === lesson.number + 1);
    byId("lesson-found").replaceChildren(
      make("h2", { id: "found-title" }, "What the model shows"),
      make("p", { class: "answer" },
        `${this.task(lesson.vote.scenario)}, ${LETTERS[lesson.vote.variant]}: ${voted.headline.toLowerCase()}.`,
        cast ? ` ${this.votes[right] ?? 0} of ${cast} guessed so.` : ""),
      ...this.tables(answers),
      ...blocks,
      make("h3", {}, "Why"), make("p", {}, lesson.why),
      make("h3", {}, "What a prosthetist would consider"), make("p", {}, `${lesson.consider} (Common practice.)`),
      make("p", { class: "fine" }, `Made with ${this.start.made_with}.`),
      make("div", { class: "row" },
        make("button", { type: "button", onclick: () => this.again() }, "Guess again"),
        next ? make("button", {
          type: "button",
          onclick: () => {
            this.open(next.number);
            this.go();
            byId("question").focus();
          },
        }, `Next: ${this.name(next)}`) : null));
  }

  /** The outcomes that answer the question, of all variants, a table per task. */
  tables(answers) {
    const { lesson } = this;
    const letters = lesson.variants.map((v, i) => `${LETTERS[i]}: ${this.said(v)}`);
    return answers.flatMap((answer, s) => {
      const { outcomes } = this.start.scenarios.find((x) => x.name === lesson.scenarios[s]);
      const rows = lesson.numbers.map((key) => outcomes.find((o) => o.key === key)).filter(Boolean)
        .map((o) => [o.label, ...answer.legs.map((leg) => leg.outcomes[o.key] ?? leg.verdict)]);
      return rows.length ? [table(`In numbers: ${this.task(lesson.scenarios[s])}`, ["Outcome", ...letters], rows)] : [];
    });
  }

  again() {
    this.open(this.state.lesson);
    this.go();
    byId("question").focus();
  }
}
