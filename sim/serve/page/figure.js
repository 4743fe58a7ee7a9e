// The scene: one person or two on their ground, with a chair. It draws what the animation says and knows no mechanics.

import { byId, draw, shownLegs } from "./base.js";
import { say } from "./words.js";
import { Body, CROWN, SCALE, WIDTH } from "./body.js";

const HEIGHT = 540;
/** Height of the lower edge of the picture, m. */
const BOTTOM = -0.17;
/** Half the distance between the legs when they stand side by side, m. */
const APART = 0.62;
/** Chair: thickness of the seat, behind and ahead of the hip, back above the seat, width of a leg, m. */
const SEAT = { thick: 0.04, behind: 0.2, ahead: 0.27, back: 0.42, leg: 0.035 };
/** Distance of the marks on the ground, m. */
const MARKS = 0.5;
/** How far in time a foot may go in one move of the pointer, s, and the steps in which it is looked for. */
const DRAG_S = 0.12;
const DRAG_STEPS = 24;

export class Figure {
  /** `seek(t)` is told where in time the foot was dragged to. */
  constructor(seek) {
    this.seek = seek;
    this.legs = [new Body("a"), new Body("b")];
    this.grounds = [draw("path", { class: "ground ground-a" }), draw("path", { class: "ground" })];
    this.marks = draw("path", { class: "marks" });
    this.seat = draw("path", { class: "seat" });
    this.name = draw("title", { id: "figure-title" });
    this.svg = draw("svg", {
      viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-labelledby": "figure-title", class: "drawing",
    }, this.name, ...this.grounds, this.seat, this.marks, this.legs[0].group, this.legs[1].group);
    this.lead = draw("path", { class: "lead" });
    window.addEventListener("resize", () => {
      this.leadStart = null;
      this.leadFrom(this.from);
    });
    this.svg.append(this.lead);
    byId("figure").append(this.svg);
    this.legs.forEach((leg, i) => {
      leg.grip.addEventListener("pointerdown", (e) => {
        e.preventDefault();
        leg.grip.setPointerCapture(e.pointerId);
        this.dragged = i;
      });
      leg.grip.addEventListener("pointermove", (e) => this.drag(e));
      // the style cannot keep a finger on a part of a drawing from scrolling
      leg.grip.addEventListener("touchstart", (e) => e.preventDefault(), { passive: false });
      for (const end of ["pointerup", "pointercancel"]) leg.grip.addEventListener(end, () => this.drop());
    });
  }

  drop() {
    this.dragged = null;
  }

  /** The instant near the present one at which the foot is nearest to the pointer. */
  drag(e) {
    const animation = this.animations?.[this.dragged ?? -1];
    if (!animation) return;
    const at = new DOMPoint(e.clientX, e.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    let [best, least] = [this.t, Infinity];
    for (let n = -DRAG_STEPS; n <= DRAG_STEPS; n++) {
      const t = this.t + (n * DRAG_S) / DRAG_STEPS;
      if (t < 0 || t > animation.end_s) continue;
      const [x, y] = this.to(this.dragged, t)(animation.mid(t));
      const far = Math.hypot(x - at.x, y - at.y);
      if (far < least) [best, least] = [t, far];
    }
    this.seek(best);
  }

  /** Takes metres of a leg to the drawing, at an instant. */
  to(i, t_s) {
    const animation = this.animations[i];
    const first = this.animations[1] ?? this.animations[0];
    const eye = this.still ?? (this.side ? animation : first).at("hip_x_m", t_s);
    const shift = this.aside(i);
    // on a slope the leg that stands aside stands lower or higher
    const drop = this.fall(animation) * shift;
    return ([x, z]) => [WIDTH / 2 + (x - eye + shift) * SCALE, HEIGHT - (z - drop - BOTTOM) * SCALE];
  }

  /** A line from the dials to the knee that they turn. Where it begins is measured once for a layout: that takes time. */
  leadFrom(box) {
    this.from = box;
    const i = this.animations?.[1] ? 1 : -1;
    const shown = i > 0 && box && !box.hidden;
    if (!shown) this.leadStart = null;
    this.lead.setAttribute("visibility", shown ? "visible" : "hidden");
    if (!shown) return;
    if (!this.leadStart) {
      const edge = box.getBoundingClientRect();
      this.leadStart = new DOMPoint(edge.right, edge.bottom - edge.height * 0.25).matrixTransform(this.svg.getScreenCTM().inverse());
    }
    const [x, y] = this.to(1, this.t)(this.animations[1].leg(this.t).knee);
    this.lead.setAttribute("d", `M${this.leadStart.x.toFixed(1)} ${this.leadStart.y.toFixed(1)}L${x.toFixed(1)} ${y.toFixed(1)}`);
  }

  /** New animations; null for a leg that is not shown. */
  load(animations, side, same) {
    this.animations = animations;
    this.side = side && animations[0] && animations[1];
    this.same = same;
    const first = animations[1] ?? animations[0];
    this.legs.forEach((leg, i) => {
      leg.group.classList.toggle("absent", !animations[i]);
      leg.letterText.textContent = shownLegs.names[i];
    });
    for (const look of ["c", "d"]) this.legs[1].group.classList.toggle(`look-${look}`, shownLegs.look === look);
    // a ghost that lies exactly under the other leg only thickens its lines
    this.legs[0].group.classList.toggle("covered", same && !this.side);
    this.still = first && !first.speed_m_per_s ? this.middle(first) : null;
    // who stands higher, on a slope to the side, still has a head
    const tops = animations.flatMap((f, i) => (f ? [Math.max(...f.curve("hip_z_m")) + CROWN * f.stature_m - this.fall(f) * this.aside(i)] : []));
    const over = Math.max(0, (Math.max(...tops) - BOTTOM) * SCALE - HEIGHT + 6);
    const view = `0 ${(-over).toFixed(0)} ${WIDTH} ${(HEIGHT + over).toFixed(0)}`;
    if (view !== this.svg.getAttribute("viewBox")) {
      this.svg.setAttribute("viewBox", view);
      this.leadStart = null;
    }
    this.groundKey = null;
    // one sound leg stands for both where they walk alike
    this.legs[0].sound.classList.toggle("covered", Boolean(animations[1]) && !this.side);
    const ghost = animations[0] && animations[1] && !same ? say("figure.ghost", { a: shownLegs.names[0], b: shownLegs.names[1] }) : "";
    this.name.textContent = say("figure.person", { ghost });
  }

  /** How far a leg stands to the side, m. */
  aside(i) {
    return this.side ? (i ? APART : -APART) : 0;
  }

  /** Where the eye rests when the body does not travel. */
  middle(animation) {
    if (animation.ground.kind === "step") return 0.12;
    const xs = animation.curve("hip_x_m");
    return (Math.min(...xs) + Math.max(...xs)) / 2 + (animation.seat_m ? -0.05 : 0.05);
  }

  at(t_s) {
    const first = this.animations?.[1] ?? this.animations?.[0];
    if (!first) return;
    this.t = t_s;
    const eye = this.still ?? first.at("hip_x_m", t_s);
    this.animations.forEach((animation, i) => {
      if (!animation) return;
      this.legs[i].pose(animation, t_s, this.to(i, t_s), this.side || i === 1 || !this.animations[1]);
    });
    this.drawGrounds(eye);
    this.leadFrom(this.from);
  }

  /** How far the ground falls per metre. */
  fall(animation) {
    return animation.ground.kind === "slope" ? Math.tan((animation.ground.deg * Math.PI) / 180) : 0;
  }

  /** The ground of each leg where they differ, else one for both; marks and seats. */
  drawGrounds(eye) {
    const [a, b] = this.animations;
    const same = (f, g) => JSON.stringify(f.ground) === JSON.stringify(g.ground);
    const alone = a && b && !same(a, b) ? [a, b] : [null, b ?? a];
    const to = ([x, z]) => [WIDTH / 2 + (x - eye) * SCALE, HEIGHT - (z - BOTTOM) * SCALE];
    const path = (list) => list.map((p, i) => `${i ? "L" : "M"}${to(p).map((v) => v.toFixed(1)).join(" ")}`).join("");
    const reach = WIDTH / SCALE;
    let marks = "";
    alone.forEach((animation, i) => {
      if (animation?.ground.kind === "step") return;
      const fall = animation ? this.fall(animation) : 0;
      const on = (x) => [x, -fall * x];
      // side by side and different, each has its half
      const split = this.side && alone[0];
      const ends = [split && i ? eye : eye - reach, split && !i ? eye : eye + reach];
      this.grounds[i].setAttribute("d", animation ? path(ends.map(on)) : "");
      if (!animation || (i === 0 && alone[1] && !split)) return;
      const first = Math.ceil(Math.max(ends[0], eye - reach / 2) / MARKS);
      const last = Math.floor(Math.min(ends[1], eye + reach / 2) / MARKS);
      for (let n = first; n <= last; n++) {
        const [x, z] = on(n * MARKS);
        marks += path([[x, z], [x - 0.05, z - 0.06]]);
      }
    });
    this.marks.setAttribute("d", marks);
    if (this.groundKey === this.animations) return;
    this.groundKey = this.animations;
    alone.forEach((animation, i) => {
      if (animation?.ground.kind !== "step") return;
      const r = animation.ground.riser_m;
      const shifts = !this.side ? [0] : alone[0] ? [this.aside(i)] : [-APART, APART];
      this.grounds[i].setAttribute("d", shifts.map((s) =>
        path([[s - 0.45, 0], [s, 0], [s, -r], [s + 0.28, -r], [s + 0.28, -r - 0.2]])).join(""));
    });
    const seats = this.animations.map((animation, i) => {
      if (!animation?.seat_m || (i === 0 && b && !this.side)) return "";
      const hip = animation.at("hip_x_m", animation.end_s) + this.aside(i);
      const [from, end] = [hip - SEAT.behind, hip + SEAT.ahead];
      const high = animation.seat_m;
      const box = (left, right, low, top) => `${path([[left, low], [right, low], [right, top], [left, top]])}Z`;
      return box(from, end, high - SEAT.thick, high) + box(from - SEAT.leg, from, 0, high + SEAT.back)
        + box(end - 2 * SEAT.leg, end - SEAT.leg, 0, high - SEAT.thick);
    });
    this.seat.setAttribute("d", seats.join(""));
  }
}
