// Animations: the curves of a motion at equal steps of time, unpacked once and read at any instant.

/** A curve of sixteen bits as numbers. */
export function unpack(curve) {
  const bytes = atob(curve.u16);
  const scale = (curve.hi - curve.lo) / 65535;
  const values = new Float64Array(bytes.length / 2);
  for (let i = 0; i < values.length; i++) {
    values[i] = curve.lo + scale * (bytes.charCodeAt(2 * i) + 256 * bytes.charCodeAt(2 * i + 1));
  }
  return values;
}

/** An animation that can be read at an instant. */
export class Animation {
  constructor(data) {
    Object.assign(this, data);
    this.packed = data.curves;
    this.curves = {};
    this.end_s = data.step_s * (data.count - 1);
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

  /** Knee, sole and load point of the leg at an instant, m. */
  pose(t_s) {
    const rad = Math.PI / 180;
    const thigh = this.at("thigh_deg", t_s) * rad;
    const shank = thigh - this.at("knee_deg", t_s) * rad;
    const hip = [this.at("hip_x_m", t_s), this.at("hip_z_m", t_s)];
    const knee = [hip[0] + this.thigh_m * Math.sin(thigh), hip[1] - this.thigh_m * Math.cos(thigh)];
    const down = [Math.sin(shank), -Math.cos(shank)];
    const ahead = [Math.cos(shank), Math.sin(shank)];
    const place = (x, up) => [0, 1].map((i) => knee[i] + (this.shank_m - up) * down[i] + x * ahead[i]);
    // In walking the height of the hip is a matter of drawing; where the foot would go through the floor, the whole
    // leg is drawn higher.
    if (this.speed_m_per_s > 0) {
      const lift = Math.max(0, ...this.sole_m.map(([x, up]) => -place(x, up)[1]));
      hip[1] += lift;
      knee[1] += lift;
    }
    const pressure = this.at("pressure_m", t_s);
    return {
      hip,
      knee,
      ankle: place(0, 0.07),
      sole: this.sole_m.map(([x, up]) => place(x, up)),
      pressure: place(pressure, this.soleHeight(pressure)),
      load: this.at("load_bw", t_s),
      valve: this.at("valve", t_s),
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
