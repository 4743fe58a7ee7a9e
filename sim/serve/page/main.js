// Puts everything together: state -> question -> answer -> figure, curves, words.

import { briefly, byId, dashes, forgetLooks, lessMotion, show, shownLegs, withoutPace } from "./base.js";
import { language, say } from "./words.js";
import { SECTIONS, firstState, fromHash, legPairs, legText, legTexts, toHash } from "./state.js";
import { NewestWins, engineOfThisDocument } from "./engine.js";
import { Figure } from "./figure.js";
import { Plots, pace } from "./plots.js";
import { Player } from "./player.js";
import { Knock } from "./sound.js";
import { inShort, showError, showNumbers, showVerdict } from "./verdict.js";
import { Controls } from "./controls.js";
import { Keep, command, fillPrinted } from "./keep.js";
import { Measured } from "./measured.js";
import { Lessons } from "./lessons.js";
import { Challenges } from "./challenges.js";
import { Dials } from "./dials.js";

class Page {
  async begin() {
    this.engine = engineOfThisDocument();
    this.start = await this.engine.start();
    Object.assign(dashes, this.start.dashes);
    byId("version").textContent = this.start.version;
    byId("caution").querySelector("span").textContent = this.start.caution;
    this.state = firstState();
    this.figure = new Figure((t) => this.seekByHand(t));
    this.dials = new Dials(this.start.settings.map((s) => s.key), (key, value) => this.turned(key, value), () => this.putDials());
    this.knock = new Knock();
    this.player = new Player((t) => this.at(t), (from, to) => this.heard(from, to));
    this.plots = new Plots((t) => this.seekByHand(t));
    this.newest = new NewestWins(this.engine, (q, a) => this.found(q, a), (q, e) => this.failed(q, e));
    this.controls = new Controls(this.start, this.state, (slider) => {
      if (slider && !lessMotion()) this.player.loop();
      this.ask();
    });
    this.lessons = new Lessons(this.start, this.state, this.engine, (what) => this.lessonChanged(what));
    this.challenges = new Challenges(this.start, this.state, this.engine, (what) => this.challengeChanged(what));
    this.keep = new Keep(() => this.shown);
    this.measured = new Measured(this.start, this.engine, () => this.shown);
    this.listen();
    // on a phone the list would fill the first screen
    byId("shelf").open = matchMedia("(min-width: 48rem)").matches;
    this.fromAddress();
    if (!lessMotion()) {
      this.player.once = true;
      this.player.set(true);
    }
  }

  listen() {
    byId("go-explore").addEventListener("click", () => this.reset());
    byId("go-lessons").addEventListener("click", () => {
      this.lessons.open(1);
      byId("shelf").open = true;
      this.rebuild();
    });
    byId("go-challenges").addEventListener("click", () => {
      this.challenges.open(1);
      byId("shelf").open = true;
      this.rebuild();
    });
    byId("reset").addEventListener("click", () => this.reset());
    byId("copy").addEventListener("click", () => {
      this.state.legs[0] = { ...this.state.legs[1] };
      this.rebuild();
    });
    byId("hide").addEventListener("click", () => {
      this.state.hidden = !this.state.hidden;
      this.rebuild();
    });
    byId("present").addEventListener("click", () => this.present(!this.state.present));
    // Esc leaves both
    document.addEventListener("fullscreenchange", () => {
      if (!document.fullscreenElement && this.state.present) this.present(false);
    });
    byId("link").addEventListener("click", () => this.copyLink());
    // a file holds one language
    show(byId("language"), this.engine.anyLanguage);
    byId("language").addEventListener("click", () => this.otherLanguage());
    byId("side").addEventListener("click", () => {
      this.state.side = !this.state.side;
      this.rebuild();
    });
    for (const name of SECTIONS) {
      byId(`more-${name}`).addEventListener("toggle", () => {
        const open = SECTIONS.filter((s) => byId(`more-${s}`).open);
        if (open.join() === this.state.open.join()) return;
        this.state.open = open;
        this.remember();
        this.showOpened();
      });
    }
    // also what Back and Forward bring
    window.addEventListener("hashchange", () => {
      if (location.hash !== this.remembered) this.fromAddress();
    });
    const again = () => {
      forgetLooks();
      this.plots.key = null;
      this.showOpened();
    };
    let resizing;
    window.addEventListener("resize", () => {
      clearTimeout(resizing);
      resizing = setTimeout(() => this.showOpened(), 150);
    });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
    matchMedia("print").addEventListener("change", again);
  }

  reset() {
    this.knock.set(false);
    this.player.set(false);
    this.player.setSlow(false);
    Object.assign(this.state, firstState());
    if (this.engine.lessonsOnly) this.lessons.open(1);
    this.instantKnown = false;
    this.rebuild();
    window.scrollTo(0, 0);
  }

  /** Large figure and type, for a projector; full screen where the browser lets us. */
  present(on) {
    this.state.present = on;
    // the list would push the figure off the screen
    if (on) byId("shelf").open = false;
    if (on) document.documentElement.requestFullscreen?.().catch(() => {});
    else if (document.fullscreenElement) document.exitFullscreen();
    this.rebuild();
  }

  async copyLink() {
    const address = location.href.split("#")[0] + toHash(this.state);
    // a page in a frame has no address line, and may be kept from the clipboard
    byId("link-text").textContent = address;
    try {
      await navigator.clipboard.writeText(address);
      byId("link").textContent = say("main.copied");
    } catch {
      byId("link").textContent = say("main.copyByHand");
    }
    setTimeout(() => { byId("link").textContent = say("main.copyLink"); }, 2000);
  }

  /** The same state in the other language; also what is hidden, which stands in the memory of this tab alone. */
  otherLanguage() {
    history.replaceState(history.state, "", `?lang=${byId("language").lang}${toHash(this.state)}`);
    location.reload();
  }

  fromAddress() {
    const { state, start } = this;
    Object.assign(state, fromHash(location.hash, (n) => start.lessons.some((l) => l.number === n),
      (n) => this.engine.anySetting && start.challenges.some((c) => c.number === n)));
    if (this.engine.lessonsOnly && !state.lesson) this.lessons.open(1);
    if (state.lesson) this.lessons.settle();
    else if (state.challenge) this.challenges.settle();
    else if (!start.scenarios.some((s) => s.name === state.task)) state.task = firstState().task;
    // while hidden, B stands in the memory of this tab only
    if (state.hidden && history.state?.b !== undefined) state.legs[1] = legPairs(history.state.b);
    this.place = this.placeOf(state);
    this.instantKnown = false;
    this.rebuild();
  }

  /** Everything that stands on the page, for the state. */
  rebuild() {
    const { state } = this;
    const inLesson = state.lesson > 0;
    const playing = state.challenge > 0;
    byId("go-explore").setAttribute("aria-pressed", !inLesson && !playing);
    byId("go-challenges").setAttribute("aria-pressed", playing);
    show(byId("go-challenges"), this.engine.anySetting);
    show(byId("no-challenges"), !this.engine.anySetting);
    byId("shelf-title").textContent = playing ? say("main.challenges") : say("main.lessons");
    byId("go-lessons").setAttribute("aria-pressed", inLesson);
    show(byId("go-explore").parentElement, !this.engine.lessonsOnly);
    show(byId("beforehand"), this.engine.lessonsOnly);
    show(byId("shelf"), inLesson || playing);
    show(byId("lesson-brief"), inLesson || playing);
    show(byId("lesson-guess"), inLesson);
    show(byId("lesson-found"), playing || (inLesson && state.revealed));
    show(byId("more-settings"), !inLesson && !playing);
    show(byId("more-measured"), !inLesson && !playing && !this.engine.lessonsOnly);
    const guessing = (inLesson && !state.revealed) || (playing && !this.challenges.shown());
    for (const name of ["curves", "numbers", "keep"]) show(byId(`more-${name}`), !guessing);
    show(byId("sliders"), inLesson || playing || !state.hidden);
    byId("hide").setAttribute("aria-pressed", state.hidden);
    byId("side").setAttribute("aria-pressed", state.side);
    byId("present").setAttribute("aria-pressed", state.present);
    document.documentElement.classList.toggle("presenting", state.present);
    this.figure.leadStart = null;
    document.querySelectorAll(".legs, #copy").forEach((e) => show(e, !state.hidden));
    for (const name of SECTIONS) byId(`more-${name}`).open = state.open.includes(name);
    // what belongs to the state before must not give the answer away
    if (guessing) this.forget();
    if (inLesson) this.lessons.build();
    else if (playing) this.challenges.build();
    else this.controls.build();
    this.ask();
  }

  /** A draft is not run; a test shows its trial, everything else builds anew. */
  challengeChanged(what) {
    if (what !== "draft") {
      this.instantKnown = false;
      this.rebuild();
      if (what === "tested") byId("score").scrollIntoView({ block: "nearest" });
    }
    this.putDials();
    this.remember();
  }

  /** A dial goes to whatever holds the setting now. */
  turned(key, value) {
    const { state } = this;
    if (state.lesson) this.lessons.turn(key, value);
    else if (state.challenge) this.challenges.turn(key, value);
    else this.controls.turnDial(key, value);
    this.putDials();
  }

  /** Dials at the values of the second leg; none while it is to be guessed. */
  putDials() {
    const { state } = this;
    const acting = this.shown?.answer.legs[1]?.settings;
    const given = state.legs[1];
    if (state.challenge) this.dials.put({ ...this.challenges.challenge.settings, ...given }, this.challenges.turns());
    else if (!acting || state.hidden || (state.lesson && !state.revealed)) this.dials.put(null, []);
    else {
      const values = Object.fromEntries(Object.entries(acting).map(([key, value]) => [key, given[key] ?? value]));
      this.dials.put(values, state.lesson ? this.lessons.turns() : Object.keys(values));
    }
    this.figure.leadFrom(this.dials.box);
  }

  lessonChanged(what) {
    if (what === "vote") return this.remember();
    if (what === "slider" || what === "variant" || what === "task") {
      if (what === "variant") this.lessons.buildSliders();
      if (what === "task") this.instantKnown = false;
      if (what === "slider" && !lessMotion()) this.player.loop();
      this.ask();
      if (what === "variant") document.querySelector('input[name="lesson-variant"]:checked')?.focus();
    } else {
      this.instantKnown = false;
      this.rebuild();
    }
  }

  /** Asks the engine; the newest question wins. */
  ask() {
    const { state } = this;
    const texts = legTexts(state);
    const guessing = state.lesson > 0 && !state.revealed;
    const tested = state.challenge ? this.challenges.shown() : null;
    this.offerSheet(guessing || state.challenge > 0);
    this.remember();
    Object.assign(shownLegs, state.lesson && state.revealed ? this.lessons.legs() : { names: ["A", "B"], look: "b" });
    if (state.challenge && !tested) return this.nothing();
    if (tested) return this.newest.ask({ ...tested, same: tested.legs[0] === tested.legs[1], hidden: false, side: state.side });
    this.newest.ask({
      scenario: state.task,
      legs: guessing ? texts.slice(0, 1) : texts,
      same: !guessing && texts[0] === texts[1],
      hidden: state.hidden && !state.lesson,
      side: state.side,
    });
  }

  /** Before the first trial of a challenge there is nothing to look at. */
  nothing() {
    this.newest.waiting = null;
    this.forget();
    this.figure.load([null, null], false, false);
    this.player.animations = null;
    byId("instant").replaceChildren();
    byId("figure").classList.add("untested");
    this.putDials();
  }

  /** A sheet is made by the program, which the file does without, and would give away what is to be guessed. */
  offerSheet(guessing) {
    const { state } = this;
    const pairs = state.lesson ? { ...state.legs[1] } : { ...state.all, ...state.legs[1] };
    const paced = "speed_m_per_s" in pairs;
    delete pairs.speed_m_per_s;
    const refused = Object.keys(pairs).filter((key) => this.start.inputs.some((i) => i.key === key && !i.on_sheet));
    const offered = this.engine.manyRuns && !guessing && !state.hidden;
    show(byId("sheet"), offered && !refused.length);
    byId("sheet").href = `sheet?lang=${language}&leg=${encodeURIComponent(legText(pairs))}`;
    byId("sheet-note").textContent = !offered ? "" : refused.length
      ? say("main.noSheet", { inputs: refused.map((key) => this.start.inputs.find((i) => i.key === key).label).join(", ") })
      : paced ? say("main.sheetPace") : "";
  }

  /** Nothing of an earlier answer is left: it would be saved, printed or read as if it were of now. */
  forget() {
    this.shown = null;
    for (const id of ["verdict", "numbers", "printed", "command", "curves-note", "pace", "worst", "in-short"]) byId(id).replaceChildren();
    this.plots.clear();
    this.keep.can(false);
  }

  found(question, answer) {
    const { state } = this;
    // an answer that comes after its question has gone
    if (state.challenge && !this.challenges.shown()) return;
    byId("figure").classList.remove("untested");
    if (answer.legs.length === 1) answer = { ...answer, legs: [answer.legs[0], null], noticed: [null, null] };
    const animations = answer.legs.map((l) => l?.animation ?? null);
    this.shown = { animations, answer, same: question.same, question, title: this.title(answer) };
    this.question = question;
    const first = animations[1] ?? animations[0];
    byId("figure").classList.toggle("stale", !first);
    if (first) {
      this.figure.load(animations, question.side, question.same);
      // the instant that matters most: the worst limit; while it is to be guessed, when the foot lands or the seat is reached
      this.worst = question.hidden ? null : answer.legs[1]?.worst ?? null;
      const lands = this.worst?.at_s ?? first.landing_from_s ?? first.end_s;
      // a figure that rests there goes along when the instant moves
      const there = Math.abs(this.player.t - (this.player.restAt ?? -1)) < 1e-3 && !this.player.playing;
      this.player.restAt = lands;
      this.player.load(animations, question.same, this.instantKnown && !there ? undefined : lands);
      this.instantKnown = true;
    } else {
      this.figure.load(animations, false, false);
      this.player.animations = null;
      byId("instant").replaceChildren();
    }
    if (answer.legs[1]) {
      if (!state.lesson && !state.challenge) this.controls.put(answer);
      showVerdict(answer, question.same, question.hidden);
    } else byId("verdict").replaceChildren();
    this.showShort(question, answer);
    this.putDials();
    this.keep.can(Boolean(first && answer.legs[1]));
    byId("pace").textContent = pace(animations, question.same);
    this.showOpened();
    this.tell(question.hidden || !answer.legs[1] ? "" : inShort(answer, question.same));
    window.dispatchEvent(new CustomEvent("kneedamp:drawn", { detail: question }));
  }

  /** The verdict in one line, for small screens on which it stays in view. */
  showShort(question, answer) {
    const said = (i) => say("main.short", { name: shownLegs.names[i], ...answer.legs[i] });
    const legs = question.hidden || !answer.legs[1] ? [] : question.same ? [1] : [1, 0];
    byId("in-short").textContent = legs.map(said).join(" · ");
  }

  /** Says it to those who listen, once the moving is over. */
  tell(text) {
    clearTimeout(this.telling);
    this.telling = setTimeout(() => {
      byId("told").textContent = text;
    }, 700);
  }

  failed(question, error) {
    this.forget();
    show(byId("sheet"), false);
    showError(error);
    this.tell(error.message);
    byId("figure").classList.add("stale");
    byId("numbers").replaceChildren(error.message);
    window.dispatchEvent(new CustomEvent("kneedamp:drawn", { detail: question }));
  }

  /** What stands in the sections that are open. */
  showOpened() {
    if (!this.shown) return;
    const { animations, answer, same, question } = this.shown;
    const first = animations[1] ?? animations[0];
    if (byId("more-curves").open && first && answer.legs[1]) {
      this.plots.load(animations, same);
      this.plots.at(this.player.t);
      byId("curves-note").textContent = first.landing_from_s
        ? say("main.publishedCurve")
        : say("main.dragCurve");
    } else if (!first) {
      this.plots.clear();
      byId("curves-note").textContent = say("main.noCurves");
    }
    if (byId("more-measured").open) this.measured.drawn();
    if (byId("more-numbers").open && answer.legs[1]) showNumbers(this.scenario(answer), answer, same, this.question.hidden);
    const hidden = this.question.hidden;
    if (!answer.legs[1]) return;
    if (byId("more-keep").open) byId("command").textContent = hidden ? "" : say("keep.command", { command: command(question) });
    fillPrinted(this.shown, hidden);
  }

  /** What is shown, in words: the lesson, or the task without a speed, which can be another one. */
  title(answer) {
    const lesson = this.start.lessons.find((l) => l.number === this.state.lesson);
    const task = withoutPace(briefly(this.scenario(answer)));
    return lesson ? say("main.lesson", { ...lesson, task }) : task;
  }

  scenario(answer) {
    const all = [...this.start.scenarios, ...this.start.challenges.flatMap((c) => c.scenarios)];
    return all.find((s) => s.name === answer.scenario);
  }

  seekByHand(t) {
    this.player.set(false);
    this.player.seek(t);
  }

  at(t) {
    this.figure.at(t);
    const here = this.worst && Math.abs(t - this.worst.at_s) < 0.005;
    byId("worst").textContent = here ? `${this.shown?.same ? "" : `${shownLegs.names[1]}: `}${this.worst.what} (${this.worst.numbers})` : "";
    if (byId("more-curves").open) this.plots.at(t);
  }

  heard(from, to) {
    const leg = this.shown?.answer.legs[1] ?? this.shown?.answer.legs[0];
    this.knock.passed(leg?.knock, from, to);
  }

  /** What Back leads back to: another lesson or task. */
  placeOf(state) {
    if (state.challenge) return `challenge ${state.challenge}`;
    return state.lesson ? `lesson ${state.lesson}` : state.task;
  }

  /** The address holds the state; written when things have come to rest. */
  remember() {
    byId("link-text").textContent = "";
    clearTimeout(this.remembering);
    this.remembering = setTimeout(() => {
      const { state } = this;
      this.remembered = toHash(state);
      const memory = state.hidden ? { b: legText(state.legs[1]) } : null;
      if (this.placeOf(state) === this.place) history.replaceState(memory, "", this.remembered);
      else history.pushState(memory, "", this.remembered);
      this.place = this.placeOf(state);
    }, 250);
  }
}

const page = new Page();
page.begin().catch((e) => showError(e));
