// The two swing valves, the stance valve and the catch load as dials beside the knee, with a line to it. A dial is
// dragged round, turned by the arrow keys, or typed: digits, then Enter. It shows what the sliders show.

import { byId, draw, make, shownLegs, show } from "./base.js";
import { nameOf, say } from "./words.js";

/** Where a dial begins and how far it turns, degrees clockwise from the top. */
const DIAL_FROM = -135;
const DIAL_SWEEP = 270;
const KEY_STEPS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10, Home: -100, End: 100 };

const onDial = (pct, radius) => {
  const angle = ((DIAL_FROM + (DIAL_SWEEP * pct) / 100) * Math.PI) / 180;
  return [32 + radius * Math.sin(angle), 32 - radius * Math.cos(angle)];
};

/** The arc from the least value to another one. */
function arc(pct, radius) {
  const [from, to] = [onDial(0, radius), onDial(pct, radius)].map((p) => p.map((v) => v.toFixed(2)).join(" "));
  return `M${from}A${radius} ${radius} 0 ${(DIAL_SWEEP * pct) / 100 > 180 ? 1 : 0} 1 ${to}`;
}

class Dial {
  /** `turned(key, value)` is told of every move, `rest()` when a hand lets go. */
  constructor(key, turned, rest) {
    Object.assign(this, { key, turned, rest, value: 0, typed: "", can: true });
    this.arc = draw("path", { class: "dial-arc" });
    this.hand = draw("line", { class: "dial-hand" });
    this.svg = draw("svg", {
      viewBox: "0 0 64 64", class: "dial", id: `dial-${key}`, role: "slider", tabindex: 0, "aria-valuemin": 0, "aria-valuemax": 100,
    }, draw("circle", { class: "dial-face", cx: 32, cy: 32, r: 29 }), draw("path", { class: "dial-range", d: arc(100, 23) }), this.arc, this.hand);
    this.said = make("span", { class: "dial-value" });
    this.box = make("div", { class: "dial-box" }, this.svg, make("span", { class: "dial-name" }, say(`dial.short.${key}`)), this.said);
    this.svg.addEventListener("pointerdown", (e) => this.grasp(e));
    this.svg.addEventListener("pointermove", (e) => this.drag(e));
    for (const end of ["pointerup", "pointercancel"]) {
      this.svg.addEventListener(end, () => {
        this.from = null;
        this.rest();
      });
    }
    this.svg.addEventListener("keydown", (e) => this.press(e));
    this.svg.addEventListener("blur", () => this.type(""));
  }

  put(value, can) {
    const key = `${value} ${can} ${shownLegs.names[1]} ${this.typed}`;
    if (key === this.shown) return;
    Object.assign(this, { shown: key, can, value });
    this.svg.setAttribute("aria-disabled", String(!can));
    this.svg.setAttribute("aria-label", say("dial.label", { name: shownLegs.names[1], setting: nameOf("settings", this.key) }));
    this.svg.setAttribute("aria-valuenow", String(value));
    this.arc.setAttribute("d", arc(value, 23));
    const [[x1, y1], [x2, y2]] = [onDial(value, 8), onDial(value, 19)];
    for (const [name, v] of Object.entries({ x1, y1, x2, y2 })) this.hand.setAttribute(name, v.toFixed(1));
    this.say();
  }

  say() {
    const value = Math.round(this.value);
    this.said.textContent = this.typed ? `${this.typed}_` : say("dial.value", { value });
    this.svg.setAttribute("aria-valuetext", say(this.typed ? "dial.typed" : "dial.value", { value: this.typed || value }));
  }

  set(value) {
    if (!this.can) return;
    const to = Math.min(100, Math.max(0, value));
    this.put(to, true);
    this.turned(this.key, Math.round(to));
  }

  /** Direction of a pointer from the middle, degrees. */
  direction(e) {
    const box = this.svg.getBoundingClientRect();
    return (Math.atan2(e.clientX - box.left - box.width / 2, box.top + box.height / 2 - e.clientY) * 180) / Math.PI;
  }

  grasp(e) {
    if (!this.can) return;
    e.preventDefault();
    this.svg.focus({ focusVisible: false });
    this.svg.setPointerCapture(e.pointerId);
    this.from = this.direction(e);
    this.exact = this.value;
  }

  /** The dial goes round with the pointer from where it was grasped; past an end it stays there. */
  drag(e) {
    if (this.from === null || this.from === undefined) return;
    const now = this.direction(e);
    const by = ((now - this.from + 540) % 360) - 180;
    this.from = now;
    this.exact += (100 * by) / DIAL_SWEEP;
    if (Math.round(this.exact) !== Math.round(this.value)) this.set(this.exact);
  }

  type(text) {
    this.typed = text;
    this.say();
  }

  press(e) {
    if (e.ctrlKey || e.altKey || e.metaKey || !this.can) return;
    if (/^\d$/.test(e.key)) this.type((this.typed + e.key).slice(0, 3));
    else if (e.key === "Backspace" && this.typed) this.type(this.typed.slice(0, -1));
    else if (e.key === "Escape" && this.typed) this.type("");
    else if (e.key === "Enter" && this.typed) {
      const value = Number(this.typed);
      this.typed = "";
      this.set(value);
    } else if (e.key in KEY_STEPS) {
      this.typed = "";
      this.set(Math.round(this.value) + KEY_STEPS[e.key]);
    } else return;
    e.preventDefault();
  }
}

export class Dials {
  constructor(keys, turned, rest) {
    this.dials = keys.map((key) => new Dial(key, turned, rest));
    this.box = make("div", { class: "dials", id: "dials", role: "group" }, ...this.dials.map((d) => d.box));
    byId("figure").append(this.box);
  }

  /** `values` by setting; `turns` are those that can be turned now. Nothing is shown where there is nothing to show. */
  put(values, turns) {
    show(this.box, Boolean(values));
    if (!values) return;
    this.box.dataset.look = shownLegs.look;
    this.box.setAttribute("aria-label", say("dial.group", { name: shownLegs.names[1] }));
    for (const dial of this.dials) {
      const value = values[dial.key];
      show(dial.box, value !== undefined);
      // who drags is not interrupted
      if (value !== undefined && (dial.from ?? null) === null) dial.put(Number(value), turns.includes(dial.key));
    }
  }
}
