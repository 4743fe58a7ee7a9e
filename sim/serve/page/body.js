// A person as a drawing: trunk and head, the prosthetic leg with socket, joint, tube and foot, the sound leg behind it.

import { draw } from "./base.js";
import { say } from "./words.js";

/** Width of the drawing. */
export const WIDTH = 880;
/** Drawing units per metre. */
export const SCALE = 272;
/** Length of the arrow for one body weight, m. */
const ARROW_PER_BW = 0.42;
/** Shoulder, middle of the head and its radius over the hip, per stature (Drillis & Contini 1966). */
const SHOULDER = 0.288;
const HEAD = 0.405;
const HEAD_RADIUS = 0.06;
/** Crown over the hip, per stature. */
export const CROWN = HEAD + HEAD_RADIUS;
/** Where the socket ends, share of the thigh. */
const SOCKET_ENDS = 0.8;
/** Room for the height of the toe in words. */
const GAP_WIDE = 300;
/** The height of the toe is known to about this, mm: the height of the hip is not measured. */
const UNCERTAIN_MM = 15;
/** How long heel and toe leave a trail, s, and its points. */
const TRAIL_S = 0.5;
const TRAIL_POINTS = 30;

/** Radius of what can be grasped about the foot. */
const GRIP = 42;

const points = (list) => list.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
const between = (a, b, share) => [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];

/** Outline of a limb from one point of the drawing to another, with a radius at each. */
function limb([x1, y1], [x2, y2], r1, r2) {
  const long = Math.hypot(x2 - x1, y2 - y1) || 1;
  const [nx, ny] = [(y1 - y2) / long, (x2 - x1) / long];
  const at = (x, y, r) => `${(x + nx * r).toFixed(1)} ${(y + ny * r).toFixed(1)}`;
  const round = (r) => `A${r.toFixed(1)} ${r.toFixed(1)} 0 0 1`;
  return `M${at(x1, y1, -r1)}L${at(x2, y2, -r2)}${round(r2)} ${at(x2, y2, r2)}L${at(x1, y1, r1)}${round(r1)} ${at(x1, y1, -r1)}Z`;
}

/** The person on leg A or B. */
export class Body {
  constructor(letter) {
    this.letter = letter;
    const shape = (name, tag = "path") => draw(tag, { class: name });
    this.trunk = shape("trunk");
    this.head = shape("head", "circle");
    this.soundParts = ["thigh", "shank"].map(() => shape("sound-part"));
    this.soundFoot = shape("sound-part", "polygon");
    this.sound = draw("g", { class: "sound" }, ...this.soundParts, this.soundFoot);
    this.trails = [shape("trail", "polyline"), shape("trail trail-toe", "polyline")];
    this.socket = shape("socket");
    this.joint = shape("joint-body", "line");
    this.tube = shape("bone", "line");
    this.foot = shape("foot", "polygon");
    this.grip = draw("circle", { class: "grip", r: GRIP });
    this.valveClip = draw("rect", {});
    const clip = draw("clipPath", { id: `clip-${letter}` }, this.valveClip);
    this.ring = draw("circle", { class: "ring", r: 15 });
    this.valve = draw("circle", { class: "valve", r: 11, "clip-path": `url(#clip-${letter})` });
    this.arrow = shape("load", "line");
    this.arrowTip = shape("load-tip", "polygon");
    this.gap = shape("gap", "line");
    this.gapText = draw("text", { class: "gap-text" });
    this.letterText = draw("text", { class: "letter", "text-anchor": "middle" }, letter.toUpperCase());
    this.group = draw("g", { class: `leg leg-${letter}` }, clip, this.sound, this.trunk, this.head, ...this.trails, this.socket,
      this.joint, this.tube, this.foot, this.ring, this.valve, this.arrow, this.arrowTip, this.gap, this.gapText, this.letterText, this.grip);
  }

  /** Draws an animation at an instant; `to` takes metres to the drawing, `label` says whether the toe's height is told. */
  pose(animation, t_s, to, label) {
    const p = animation.pose(t_s);
    this.drawTrunk(p, animation.stature_m, to);
    this.drawSound(p.sound, to);
    this.drawTrails(animation, t_s, to);
    const socket = between(p.hip, p.knee, SOCKET_ENDS);
    this.socket.setAttribute("d", limb(to(p.hip), to(socket), 0.078 * SCALE, 0.052 * SCALE));
    this.line(this.joint, to(socket), to(between(p.knee, p.ankle, 0.1)));
    this.line(this.tube, to(p.knee), to(p.ankle));
    this.foot.setAttribute("points", points(p.foot.map(to)));
    this.centre(this.grip, to(animation.mid(t_s)));
    this.drawValve(p, to);
    this.drawLoad(p, to);
    this.drawGap(p, animation, to, label);
  }

  line(element, [x1, y1], [x2, y2]) {
    for (const [name, value] of Object.entries({ x1, y1, x2, y2 })) element.setAttribute(name, value.toFixed(1));
  }

  centre(element, at) {
    element.setAttribute("cx", at[0].toFixed(1));
    element.setAttribute("cy", at[1].toFixed(1));
  }

  drawTrunk(p, stature, to) {
    const up = (share) => [p.hip[0] + stature * share * Math.sin(p.lean), p.hip[1] + stature * share * Math.cos(p.lean)];
    const neck = limb(to(up(SHOULDER)), to(up(HEAD - HEAD_RADIUS)), 0.05 * SCALE, 0.045 * SCALE);
    this.trunk.setAttribute("d", limb(to(up(0.03)), to(up(SHOULDER - 0.03)), 0.085 * SCALE, 0.1 * SCALE) + (this.letter === "a" ? "" : neck));
    this.centre(this.head, to(up(HEAD)));
    this.head.setAttribute("r", (HEAD_RADIUS * stature * SCALE).toFixed(1));
    const [x, y] = to(up(0.17));
    this.letterText.setAttribute("x", x.toFixed(1));
    this.letterText.setAttribute("y", (y + (this.letter === "a" ? 34 : 0)).toFixed(1));
  }

  drawSound(sound, to) {
    this.sound.classList.toggle("absent", !sound);
    if (!sound) return;
    const [thigh, shank] = this.soundParts;
    thigh.setAttribute("d", limb(to(sound.hip), to(sound.knee), 0.072 * SCALE, 0.05 * SCALE));
    shank.setAttribute("d", limb(to(sound.knee), to(sound.ankle), 0.05 * SCALE, 0.032 * SCALE));
    this.soundFoot.setAttribute("points", points(sound.foot.map(to)));
  }

  /** Where heel and toe have just been. */
  drawTrails(animation, t_s, to) {
    const times = Array.from({ length: TRAIL_POINTS + 1 }, (_, i) => t_s - (TRAIL_S * i) / TRAIL_POINTS).filter((t) => t >= 0);
    const been = times.map((t) => animation.ends(t));
    this.trails.forEach((trail, i) => trail.setAttribute("points", points(been.map((ends) => to(ends[i])))));
  }

  /** The ring fills from below as the valve closes. */
  drawValve(p, to) {
    const [x, y] = to(p.knee);
    this.centre(this.ring, [x, y]);
    this.centre(this.valve, [x, y]);
    const filled = 22 * p.valve;
    const box = { x: x - 12, y: y + 11 - filled, width: 24, height: Math.max(0, filled) };
    for (const [name, value] of Object.entries(box)) this.valveClip.setAttribute(name, value.toFixed(1));
  }

  drawLoad(p, to) {
    const visibility = p.load > 0.02 ? "visible" : "hidden";
    for (const part of [this.arrow, this.arrowTip]) part.setAttribute("visibility", visibility);
    const top = [p.pressure[0], p.pressure[1] + ARROW_PER_BW * p.load];
    this.line(this.arrow, to(p.pressure), to(top));
    const [x, y] = to(top);
    this.arrowTip.setAttribute("points", points([[x, y - 12], [x - 9, y + 6], [x + 9, y + 6]]));
  }

  /** Height of the toe over the ground in swing, where it is computed. */
  drawGap(p, animation, to, label) {
    const shown = label && animation.footholds_m && (p.drags || (p.load < 0.02 && p.tip[1] > 0));
    for (const part of [this.gap, this.gapText]) part.setAttribute("visibility", shown ? "visible" : "hidden");
    if (!shown) return;
    const [x, y] = to(p.tip);
    const [, ground] = to([p.tip[0], 0]);
    this.line(this.gap, [x, y], [x, ground]);
    const left = x + GAP_WIDE > WIDTH;
    this.gapText.setAttribute("x", (left ? x - 14 : x + 14).toFixed(1));
    this.gapText.setAttribute("text-anchor", left ? "end" : "start");
    this.gapText.setAttribute("y", (ground + 24).toFixed(1));
    this.gapText.classList.toggle("bad", p.drags);
    const mm = Math.round(1000 * p.tip[1]);
    // uncertain by 15 mm, and no limit of a scenario: a deeper one drags, a shallower one may
    const key = !p.drags ? "figure.toe" : mm < -UNCERTAIN_MM ? "figure.drags" : "figure.mayDrag";
    this.gapText.textContent = say(key, { mm: String(mm).replace("-", "−"), uncertain: UNCERTAIN_MM });
  }
}
