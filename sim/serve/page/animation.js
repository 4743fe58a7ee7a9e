// Animations: the curves of a motion at equal steps of time, unpacked once and read at any instant.

import { nameOf } from "./words.js";

/** A curve of sixteen bits, in parts, as numbers. */
export function unpack(curve) {
  const parts = curve.map((part) => ({ ...part, bytes: atob(part.u16) }));
  const values = new Float64Array(parts.reduce((sum, part) => sum + part.bytes.length / 2, 0));
  let n = 0;
  for (const { lo, hi, bytes } of parts) {
    const scale = (hi - lo) / 65535;
    for (let i = 0; i < bytes.length; i += 2) values[n++] = lo + scale * (bytes.charCodeAt(i) + 256 * bytes.charCodeAt(i + 1));
  }
  return values;
}

const RAD = Math.PI / 180;

/** Knee of a thigh and shank at angles from vertical, and places ahead of the shank line and below the knee axis. */
function chain(hip, thigh, shank, thigh_m) {
  const knee = [hip[0] + thigh_m * Math.sin(thigh), hip[1] - thigh_m * Math.cos(thigh)];
  const place = (ahead, below) => [
    knee[0] + below * Math.sin(shank) + ahead * Math.cos(shank),
    knee[1] - below * Math.cos(shank) + ahead * Math.sin(shank),
  ];
  return { knee, place };
}

/** An animation that can be read at an instant. */
export class Animation {
  constructor(data) {
    Object.assign(this, data);
    this.packed = data.curves;
    this.curves = {};
    this.end_s = data.step_s * (data.count - 1);
    this.contact_s = data.instants.find(([, name]) => name === "heel contact")?.[0];
    this.instants = data.instants.map(([t, name]) => [t, nameOf("instants", name)]);
  }

  /** The values of a curve; none if this motion has no such curve. */
  curve(name) {
    if (!(name in this.curves)) this.curves[name] = this.packed[name] ? unpack(this.packed[name]) : null;
    return this.curves[name];
  }

  /** A value at an instant, held at the end; null beyond the end of a shorter curve. */
  at(name, t_s) {
    const values = this.curve(name);
    if (!values) return null;
    const place = Math.max(0, t_s / this.step_s);
    if (values.length < this.count && place > values.length - 1) return null;
    const i = Math.min(Math.floor(place), values.length - 2);
    const share = Math.min(place - i, 1);
    return values[i] + share * (values[i + 1] - values[i]);
  }

  /** A value for a plot: null beyond the end. */
  within(name, t_s) {
    return t_s > this.end_s + 1e-9 ? null : this.at(name, t_s);
  }

  /** Hip, knee, and places on the prosthesis by their distance ahead of the shank line and above the sole, m. */
  leg(t_s) {
    const hip = [this.at("hip_x_m", t_s), this.at("hip_z_m", t_s)];
    const thigh = this.at("thigh_deg", t_s) * RAD;
    const { knee, place } = chain(hip, thigh, thigh - this.at("knee_deg", t_s) * RAD, this.thigh_m);
    const down = (x, up) => place(x, this.shank_m - up);
    if (!this.seat_m) return { hip, knee, down };
    // who sits down keeps the foot flat, and the shank tilts over it
    const [x0, z0] = down(0, 0);
    return { hip, knee, down: (x, up) => [x0 + x, z0 + up] };
  }

  /** Heel and tip of the foot at an instant, m. */
  ends(t_s) {
    const { down } = this.leg(t_s);
    return [down(...this.sole_m[0]), this.tip(t_s, down)];
  }

  /** Middle of the foot at an instant, m. */
  mid(t_s) {
    const [heel, tip] = this.ends(t_s);
    return [(heel[0] + tip[0]) / 2, (heel[1] + tip[1]) / 2];
  }

  /** All points of the person at an instant, m. */
  pose(t_s) {
    const { hip, knee, down } = this.leg(t_s);
    const pressure = this.at("pressure_m", t_s);
    const sole = this.sole_m.map(([x, up]) => down(x, up));
    return {
      hip,
      knee,
      ankle: down(0, 0.075),
      foot: [down(-0.035, 0.085), ...sole, ...this.toe(t_s, down), down(0.055, 0.09)],
      tip: this.tip(t_s, down),
      pressure: down(pressure, this.soleHeight(pressure)),
      load: this.at("load_bw", t_s),
      valve: this.at("valve", t_s),
      drags: this.dragging(t_s),
      sound: this.sound(t_s, hip),
      lean: this.seat_m ? Math.asin(Math.min(0.62, Math.max(0, -hip[0] / 0.62))) : 0,
    };
  }

  dragging(t_s) {
    return this.drags.some(([from, to]) => t_s > from - this.step_s && t_s < to + this.step_s);
  }

  /** Tip of the foot: as computed; toes that would be in the ground lie on it. */
  tip(t_s, down) {
    const [x, z] = down(...this.toe_m);
    if (this.footholds_m) {
      if (z >= 0 || this.dragging(t_s)) return [x, z];
      const landed = this.landing_from_s !== null && t_s > this.landing_from_s;
      return [landed ? this.footholds_m[1] : this.at("load_bw", t_s) > 0 ? this.footholds_m[0] : x, 0];
    }
    if (this.ground.kind === "step") return [x, z];
    const fall = this.ground.kind === "slope" ? Math.tan(this.ground.deg * RAD) : 0;
    return [x, Math.max(z, -fall * x)];
  }

  /** Front of the foot: the tip and the toes above it. */
  toe(t_s, down) {
    const [x, z] = this.tip(t_s, down);
    return [[x, z], [x, z + 0.025]];
  }

  /** Points of the sound leg; null where none is known. */
  sound(t_s, [x]) {
    const up = this.at("sound_hip_z_m", t_s);
    if (up === null) return null;
    const [heel, ball, tip, height] = this.sound_foot_m;
    const hip = [x, up];
    const thigh = this.at("sound_thigh_deg", t_s) * RAD;
    const { knee, place } = chain(hip, thigh, thigh - this.at("sound_knee_deg", t_s) * RAD, this.thigh_m);
    const ankle = place(0, this.shank_m - height);
    const foot = this.at("sound_foot_deg", t_s) * RAD;
    const on = (ahead, above) => [
      ankle[0] + ahead * Math.cos(foot) - (above - height) * Math.sin(foot),
      Math.max(0, ankle[1] + ahead * Math.sin(foot) + (above - height) * Math.cos(foot)),
    ];
    return {
      hip, knee, ankle,
      foot: [on(-0.04, 0.09), on(heel, 0.02), on(heel + 0.01, 0), on(ball, 0), on(tip, 0), on(tip, 0.025), on(0.055, 0.095)],
    };
  }

  /** Height of the sole's curve at a distance ahead of the shank line, held at its ends. */
  soleHeight(x) {
    const sole = this.sole_m;
    if (x <= sole[0][0]) return sole[0][1];
    const i = sole.findIndex((p) => p[0] >= x);
    if (i < 0) return sole.at(-1)[1];
    const [from, to] = [sole[i - 1], sole[i]];
    return from[1] + ((x - from[0]) / (to[0] - from[0])) * (to[1] - from[1]);
  }
}

/** An answer with its animations unpacked. */
export function withAnimations(answer) {
  for (const leg of answer.legs) leg.animation = leg.animation ? new Animation(leg.animation) : null;
  return answer;
}
