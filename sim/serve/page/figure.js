// The leg as a figure: thigh, shank, foot, ground, load arrow, valve. It draws what the animation says and knows no
// mechanics; trunk and head are added so that one sees a person.

import { byId, draw } from "./base.js";

const WIDTH = 880;
const HEIGHT = 540;
/** Drawing units per metre. */
const SCALE = 302;
/** Height of the lower edge of the picture, m. */
const BOTTOM = -0.2;
/** Half the distance between the legs when they stand side by side, m. */
const APART = 0.62;
/** Length of the arrow for one body weight, m. */
const ARROW_PER_BW = 0.42;
/** Crown of the head above the hip, m. */
const HEAD_OVER_HIP = 0.625;
/** Thickness of the seat, m. */
const SEAT_THICK = 0.046;
/** Distance of the marks on the ground, m. */
const MARKS = 0.5;

const points = (list) => list.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");

/** One leg's parts of the drawing. */
class Leg {
  constructor(letter) {
    this.letter = letter;
    this.trunk = draw("line", { class: "trunk" });
    this.head = draw("circle", { class: "head", r: 0.085 * SCALE });
    this.thigh = draw("line", { class: "bone" });
    this.shank = draw("line", { class: "bone" });
    this.foot = draw("polygon", { class: "foot" });
    this.hip = draw("circle", { class: "joint", r: 9 });
    this.valveClip = draw("rect", {});
    const clip = draw("clipPath", { id: `clip-${letter}` }, this.valveClip);
    this.ring = draw("circle", { class: "ring", r: 17 });
    this.valve = draw("circle", { class: "valve", r: 13, "clip-path": `url(#clip-${letter})` });
    this.arrow = draw("line", { class: "load" });
    this.tip = draw("polygon", { class: "load-tip" });
    this.letterText = draw("text", { class: "letter", "text-anchor": "middle" }, letter.toUpperCase());
    this.group = draw("g", { class: `leg leg-${letter}` }, clip, this.trunk, this.head, this.thigh, this.shank,
      this.foot, this.hip, this.ring, this.valve, this.arrow, this.tip, this.letterText);
  }

  /** Draws a pose; `to` takes metres to the drawing. */
  pose(p, to) {
    const line = (element, from, end) => {
      const [[x1, y1], [x2, y2]] = [to(from), to(end)];
      element.setAttribute("x1", x1.toFixed(1));
      element.setAttribute("y1", y1.toFixed(1));
      element.setAttribute("x2", x2.toFixed(1));
      element.setAttribute("y2", y2.toFixed(1));
    };
    const centre = (element, at) => {
      const [x, y] = to(at);
      element.setAttribute("cx", x.toFixed(1));
      element.setAttribute("cy", y.toFixed(1));
      return [x, y];
    };
    const shoulder = [p.hip[0], p.hip[1] + 0.4];
    line(this.trunk, p.hip, shoulder);
    centre(this.head, [shoulder[0], shoulder[1] + 0.14]);
    line(this.thigh, p.hip, p.knee);
    line(this.shank, p.knee, p.ankle);
    this.foot.setAttribute("points", points([p.ankle, ...p.sole].map(to)));
    centre(this.hip, p.hip);
    const [x, y] = centre(this.ring, p.knee);
    centre(this.valve, p.knee);
    // the ring fills from below as the valve closes
    const filled = 26 * p.valve;
    this.valveClip.setAttribute("x", (x - 14).toFixed(1));
    this.valveClip.setAttribute("y", (y + 13 - filled).toFixed(1));
    this.valveClip.setAttribute("width", 28);
    this.valveClip.setAttribute("height", Math.max(0, filled).toFixed(1));
    const loaded = p.load > 0.02;
    this.arrow.setAttribute("visibility", loaded ? "visible" : "hidden");
    this.tip.setAttribute("visibility", loaded ? "visible" : "hidden");
    if (loaded) {
      const top = [p.pressure[0], p.pressure[1] + ARROW_PER_BW * p.load];
      line(this.arrow, p.pressure, top);
      const [tx, ty] = to(top);
      this.tip.setAttribute("points", points([[tx, ty - 12], [tx - 9, ty + 6], [tx + 9, ty + 6]]));
    }
    const [lx, ly] = to([p.hip[0], p.hip[1] + 0.2]);
    this.letterText.setAttribute("x", (lx + (this.letter === "a" ? -24 : 24)).toFixed(1));
    this.letterText.setAttribute("y", ly.toFixed(1));
  }
}

export class Figure {
  constructor() {
    this.legs = [new Leg("a"), new Leg("b")];
    this.grounds = [draw("path", { class: "ground ground-a" }), draw("path", { class: "ground" })];
    this.marks = draw("path", { class: "marks" });
    this.seat = draw("path", { class: "seat" });
    this.name = draw("title", { id: "figure-title" });
    this.svg = draw("svg", {
      viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-labelledby": "figure-title", class: "drawing",
    }, this.name, ...this.grounds, this.marks, this.seat, this.legs[0].group, this.legs[1].group);
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
    const tops = animations.flatMap((f, i) => (f ? [Math.max(...f.curve("hip_z_m")) + HEAD_OVER_HIP - this.fall(f) * this.aside(i)] : []));
    const over = Math.max(0, (Math.max(...tops) - BOTTOM) * SCALE - HEIGHT + 6);
    this.svg.setAttribute("viewBox", `0 ${(-over).toFixed(0)} ${WIDTH} ${(HEIGHT + over).toFixed(0)}`);
    this.groundKey = null;
    this.name.textContent = `The leg as a drawing: hip, thigh, knee with its valve, shank, foot, ground and load. ${
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
      this.legs[i].pose(animation.pose(t_s), to);
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
      const from = animation.at("hip_x_m", animation.end_s) - 0.42 + this.aside(i);
      const [low, high] = [animation.seat_m - SEAT_THICK, animation.seat_m];
      return `${path([[from, low], [from + 0.5, low], [from + 0.5, high], [from, high]])}Z`;
    });
    this.seat.setAttribute("d", seats.join(""));
  }
}
