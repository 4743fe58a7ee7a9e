// The scene: one person or two on their ground, with a chair. It draws what the animation says and knows no mechanics.

import { byId, draw } from "./base.js";
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

export class Figure {
  constructor() {
    this.legs = [new Body("a"), new Body("b")];
    this.grounds = [draw("path", { class: "ground ground-a" }), draw("path", { class: "ground" })];
    this.marks = draw("path", { class: "marks" });
    this.seat = draw("path", { class: "seat" });
    this.name = draw("title", { id: "figure-title" });
    this.svg = draw("svg", {
      viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-labelledby": "figure-title", class: "drawing",
    }, this.name, ...this.grounds, this.seat, this.marks, this.legs[0].group, this.legs[1].group);
    byId("figure").append(this.svg);
  }

  /** New animations; null for a leg that is not shown. */
  load(animations, side, same) {
    this.animations = animations;
    this.side = side && animations[0] && animations[1];
    this.same = same;
    const first = animations[1] ?? animations[0];
    this.legs.forEach((leg, i) => leg.group.classList.toggle("absent", !animations[i]));
    // a ghost that lies exactly under the other leg only thickens its lines
    this.legs[0].group.classList.toggle("covered", same && !this.side);
    this.still = first && !first.speed_m_per_s ? this.middle(first) : null;
    // who stands higher, on a slope to the side, still has a head
    const tops = animations.flatMap((f, i) => (f ? [Math.max(...f.curve("hip_z_m")) + CROWN * f.stature_m - this.fall(f) * this.aside(i)] : []));
    const over = Math.max(0, (Math.max(...tops) - BOTTOM) * SCALE - HEIGHT + 6);
    this.svg.setAttribute("viewBox", `0 ${(-over).toFixed(0)} ${WIDTH} ${(HEIGHT + over).toFixed(0)}`);
    this.groundKey = null;
    // one sound leg stands for both where they walk alike
    this.legs[0].sound.classList.toggle("covered", Boolean(animations[1]) && !this.side);
    this.name.textContent = `A person as a drawing: prosthesis with socket, knee and its valve, tube and foot; the sound leg lighter; ground and load. ${
      animations[0] && animations[1] && !same ? "A as a ghost behind B." : ""}`;
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
    const eye = this.still ?? first.at("hip_x_m", t_s);
    this.animations.forEach((animation, i) => {
      if (!animation) return;
      const own = this.still ?? animation.at("hip_x_m", t_s);
      const shift = this.aside(i);
      // on a slope the leg that stands aside stands lower or higher
      const drop = this.fall(animation) * shift;
      const to = ([x, z]) => [
        WIDTH / 2 + (x - (this.side ? own : eye) + shift) * SCALE,
        HEIGHT - (z - drop - BOTTOM) * SCALE,
      ];
      this.legs[i].pose(animation, t_s, to, this.side || i === 1 || !this.animations[1]);
    });
    this.drawGrounds(eye);
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
