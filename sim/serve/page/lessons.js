// Lessons: situation, what to watch, a question with answers of its own, a guess, then the reveal: what is said to the
// answer that was chosen, the numbers that were asked about, why, what a prosthetist would consider. Which answer is
// right and every number come from the engine.

import { briefly, byId, inWords, make, show } from "./base.js";
import { say } from "./words.js";
import { card, table } from "./verdict.js";
import { legPairs, legText } from "./state.js";

const LETTERS = "ABCD";

export class Lessons {
  /** `go()` is called after the state was changed. */
  constructor(start, state, engine, go) {
    Object.assign(this, { start, state, engine, go, base: 1 });
  }

  get lesson() {
    return this.start.lessons.find((l) => l.number === this.state.lesson);
  }

  /** Begins a lesson, nothing revealed. */
  open(number) {
    const lesson = this.start.lessons.find((l) => l.number === number) ?? this.start.lessons[0];
    Object.assign(this.state, {
      lesson: lesson.number,
      challenge: 0,
      task: lesson.scenarios[0],
      legs: [legPairs(lesson.variants[0]), legPairs(lesson.variants[lesson.vote.variant])],
      revealed: false,
      votes: [],
    });
    this.base = lesson.vote.variant;
  }

  /** Takes from an address what a lesson can have: A is always its first variant; B must be one of its steps; nothing is
      revealed without a guess. */
  settle() {
    const { lesson, state } = this;
    state.votes = state.votes.slice(0, lesson.answers.length);
    state.revealed = state.revealed && state.votes.some(Boolean);
    if (!lesson.scenarios.includes(state.task)) state.task = state.revealed ? lesson.vote.scenario : lesson.scenarios[0];
    const given = state.legs[1] && this.onGrid(state.legs[1]);
    state.legs = [legPairs(lesson.variants[0]), given ?? legPairs(lesson.variants[lesson.vote.variant])];
    this.base = lesson.vote.variant;
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

  /** Names of the two legs: the second is the variant it stands on, else the variant from which it was moved. */
  legs() {
    const at = this.lesson.variants.indexOf(legText(this.state.legs[1]));
    if (at > 0) this.base = at;
    const letter = LETTERS[this.base];
    return { names: ["A", at > 0 ? letter : say("lesson.moved", { letter })], look: letter.toLowerCase() };
  }

  /** Its number and title, the same as on the command line. */
  name(lesson) {
    return say("lesson.name", lesson);
  }

  /** The buttons of all lessons. */
  list() {
    byId("lesson-list").replaceChildren(...this.start.lessons.map((l) => make("button", {
      type: "button",
      class: "lesson-button",
      "aria-pressed": String(l.number === this.state.lesson),
      onclick: () => this.begin(l.number),
    }, this.name(l))));
  }

  begin(number) {
    this.open(number);
    this.go();
    byId("question").focus();
  }

  /** What a variant changes, in words: `swing-flexion 0 %`. */
  said(text) {
    return inWords(this.start, legPairs(text)) || say("lesson.asItIs");
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
      make("p", {}, make("strong", {}, `${say("lesson.watch")} `), lesson.watch),
      make("p", { class: "guess-question" }, make("strong", {}, `${say("lesson.guess")} `), lesson.question));
    this.buildSliders();
    this.buildGuess();
    show(byId("lesson-found"), state.revealed);
    if (state.revealed) this.found();
    else byId("lesson-found").replaceChildren();
  }

  /** The answers; one has to be chosen before the reveal. */
  buildGuess() {
    const { lesson, state } = this;
    const box = byId("lesson-guess");
    show(box, true);
    if (state.revealed) {
      box.replaceChildren();
      return;
    }
    const buttons = lesson.answers.map((answer, i) => make("button", {
      type: "button",
      class: "vote",
      "aria-pressed": "false",
      onclick: () => {
        state.votes = lesson.answers.map((_, n) => (state.votes[n] ?? 0) + (n === i ? 1 : 0));
        put();
        this.go("vote");
      },
    }));
    const back = make("button", { type: "button", onclick: () => {
      state.votes = [];
      put();
      this.go("vote");
    } }, say("lesson.takeBack"));
    const note = make("p", { class: "fine", id: "guess-first" }, say("lesson.first"));
    const reveal = make("button", {
      type: "button",
      class: "reveal",
      "aria-describedby": "guess-first",
      onclick: () => {
        state.revealed = true;
        state.task = lesson.vote.scenario;
        this.go();
        byId("lesson-found").focus();
      },
    }, say("lesson.reveal"));
    const put = () => {
      const cast = state.votes.some(Boolean);
      buttons.forEach((button, i) => {
        const count = state.votes[i] ?? 0;
        button.textContent = count ? say("lesson.votes", { answer: lesson.answers[i], count }) : lesson.answers[i];
        button.setAttribute("aria-pressed", String(count > 0));
      });
      reveal.disabled = !cast;
      show(note, !cast);
      show(back, cast);
    };
    put();
    box.replaceChildren(
      make("fieldset", { class: "answers" }, make("legend", {}, say("lesson.legend")), ...buttons),
      make("div", { class: "row" }, reveal, back), note);
  }

  /** Task, variant, and the sliders of the second leg over the steps of the lesson's grid. */
  buildSliders() {
    const { lesson, state } = this;
    const radios = (name, legend, options, picked, pick) => make("fieldset", { class: "pick" }, make("legend", {}, legend),
      ...options.map(([value, label]) => {
        const box = make("input", { type: "radio", name, value, checked: value === picked, id: `${name}-${value}` });
        box.addEventListener("change", () => pick(value));
        return make("span", {}, box, make("label", { for: `${name}-${value}` }, label));
      }));
    const task = lesson.scenarios.length > 1
      ? radios("lesson-task", say("lesson.taskLegend"), lesson.scenarios.map((s) => [s, this.task(s)]), state.task, (s) => {
        state.task = s;
        this.go("task");
      })
      : null;
    if (!state.revealed) {
      byId("sliders").replaceChildren(...[task].filter(Boolean));
      return;
    }
    const now = legText(state.legs[1]);
    const said = (i) => say("lesson.variant", { letter: LETTERS[i], said: this.said(lesson.variants[i]) });
    const variants = lesson.variants.slice(1).map((_, i) => [String(i + 1), said(i + 1)]);
    const picked = String(lesson.variants.indexOf(now));
    const list = lesson.sliders.map((s) =>
      say("lesson.step", { label: s.label, from: s.said[0], to: s.said.at(-1), count: s.values.length })).join("; ");
    byId("sliders").replaceChildren(...[
      task,
      radios("lesson-variant", say("lesson.nextToA", { said: this.said(lesson.variants[0]) }), variants, picked, (i) => {
        state.legs[1] = legPairs(lesson.variants[Number(i)]);
        this.go("variant");
      }),
      ...lesson.sliders.map((s, i) => this.gridSlider(s, i)),
      make("p", { class: "fine" }, say("lesson.steps", { list })),
    ].filter(Boolean));
  }

  gridSlider(slider, number) {
    const { state } = this;
    const at = Math.max(0, slider.values.indexOf(state.legs[1][slider.key] ?? ""));
    const id = `grid-${number}`;
    const range = make("input", { type: "range", id, min: 0, max: slider.values.length - 1, step: 1, value: at, "aria-valuetext": slider.said[at] });
    const out = make("output", { for: id }, slider.said[at]);
    range.addEventListener("input", () => {
      out.textContent = slider.said[range.value];
      range.setAttribute("aria-valuetext", slider.said[range.value]);
      this.moved();
    });
    return make("div", { class: "slider" }, make("label", { for: id }, make("strong", { class: "moved" }, `${this.legs().names[1]}: `), slider.label), out, range);
  }

  /** Takes the second leg from the sliders. */
  moved() {
    const { lesson, state } = this;
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
    const [, name] = this.legs().names;
    document.querySelectorAll("#sliders .moved").forEach((e) => {
      e.textContent = `${name}: `;
    });
    this.go("slider");
  }

  /** A dial moves the slider of the same setting to its nearest step. */
  turn(key, value) {
    const number = this.lesson.sliders.findIndex((s) => s.key === key);
    const range = byId(`grid-${number}`);
    if (!range) return;
    const steps = this.lesson.sliders[number].values.map((v) => Number(v === "" ? this.own(key) : v));
    const nearest = steps.reduce((best, v, i) => (Math.abs(v - value) < Math.abs(steps[best] - value) ? i : best), 0);
    if (Number(range.value) === nearest) return;
    range.value = nearest;
    range.dispatchEvent(new Event("input"));
  }

  /** Where a setting stands that the lesson leaves as it is. */
  own(key) {
    return this.start.settings.find((s) => s.key === key)?.own ?? 0;
  }

  /** Which settings a dial can turn now. */
  turns() {
    return this.state.revealed ? this.lesson.sliders.map((s) => s.key) : [];
  }

  /** Everything that was computed: first what was guessed and asked about, then every task and variant. */
  async found() {
    const { lesson } = this;
    const [result, ...answers] = await Promise.all([
      this.engine.result("lesson", lesson.number),
      ...lesson.scenarios.map((scenario) => this.engine.answer({ scenario, legs: lesson.variants })),
    ]);
    if (lesson !== this.lesson || !this.state.revealed) return;
    const blocks = answers.flatMap((answer, s) => [
      make("h3", {}, this.task(lesson.scenarios[s])),
      make("div", { class: "cards" }, ...answer.legs.map((leg, i) => make("div", {},
        card("abcd"[i], leg, say("lesson.variant", { letter: LETTERS[i], said: this.said(lesson.variants[i]) }), "h4"),
        answer.noticed[i] ? make("details", {}, make("summary", {}, say("lesson.against")), make("p", {}, answer.noticed[i])) : null))),
    ]);
    const next = this.start.lessons.find((l) => l.number === lesson.number + 1);
    byId("lesson-found").replaceChildren(
      make("h2", { id: "found-title" }, say("lesson.found")),
      ...this.judged(result.answers),
      this.asked(result.asked),
      make("h3", {}, say("lesson.why")), make("p", {}, lesson.why),
      make("h3", {}, say("lesson.consider")), make("p", {}, say("lesson.practice", { text: lesson.consider })),
      make("details", { id: "found-full" }, make("summary", {}, say("lesson.full")), ...blocks),
      make("p", { class: "fine" }, say("lesson.made", { what: this.start.made_with })),
      make("div", { class: "row" },
        make("button", { type: "button", onclick: () => this.begin(lesson.number) }, say("lesson.again")),
        next ? make("button", { type: "button", onclick: () => this.begin(next.number) }, say("lesson.next", { name: this.name(next) })) : null));
  }

  /** What is said to each answer that was chosen; then the right one, if nobody chose it. */
  judged(results) {
    const { lesson, state } = this;
    const all = state.votes.reduce((sum, n) => sum + n, 0);
    const block = (i, head, mark) => make("div", { class: `judged${results[i].right ? " right" : ""}` },
      make("p", { class: "answer" }, make("strong", {}, head), mark ? ` ${mark}` : null),
      make("p", {}, results[i].explanation));
    const chosen = lesson.answers.map((_, i) => i).filter((i) => state.votes[i]);
    const blocks = chosen.map((i) => {
      const head = say(all === 1 ? "lesson.yours" : "lesson.cast", { answer: lesson.answers[i], count: state.votes[i], all });
      return block(i, head, results[i].right ? say("lesson.right") : say("lesson.wrong"));
    });
    const truth = results.findIndex((r) => r.right);
    if (truth >= 0 && !chosen.includes(truth)) blocks.push(block(truth, say("lesson.truth", { answer: lesson.answers[truth] })));
    return blocks;
  }

  /** The outcomes that the question is about, of all variants, with their limits. */
  asked(rows) {
    const { lesson } = this;
    const letters = lesson.variants.map((v, i) => say("lesson.variant", { letter: LETTERS[i], said: this.said(v) }));
    return table(say("lesson.asked"), [say("lesson.outcome"), say("lesson.task"), ...letters, say("lesson.limit")],
      rows.map((r) => [r.label, this.task(r.scenario), ...r.values, r.bounds || say("lesson.none")]));
  }
}
