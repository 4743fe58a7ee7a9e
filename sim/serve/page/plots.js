// Curves of both legs, linked to the figure: a line stands where the figure is, dragging moves it.

import { byId, dashes, looks, make, shownLegs } from "./base.js";
import { number, say, short } from "./words.js";

/** Points of a curve. */
const POINTS = 300;
const PLOT_HEIGHT = 200;
/** Room over the curves of the first panel, for the names of instants. */
const NAMES_ABOVE = 1.25;
/** The load is a curve of its own kind. */
const LOAD_DASH = [12, 4, 3, 4];

// Names and dashes of the plots of `run`; no colour of A or B, which are legs.
const TORQUES = [
  { curve: "damper_n_m", colour: "ink" },
  { curve: "friction_n_m", colour: "purple" },
  { curve: "stop_n_m", colour: "load" },
  { curve: "assist_n_m", colour: "amber" },
  { curve: "ground_and_hip_n_m", colour: "soft" },
];

/** A stance valve that moves by less than this stays where it is. */
const VALVE_MOVES = 0.05;

/** Where a valve that does not move stays, in words; null for one that moves. */
function rest(animation) {
  const values = animation.curve("valve");
  const [lo, hi] = [Math.min(...values), Math.max(...values)];
  if (hi - lo >= VALVE_MOVES) return null;
  return hi < VALVE_MOVES ? say("plots.open") : lo > 1 - VALVE_MOVES ? say("plots.closed") : say("plots.at", { value: number((lo + hi) / 2, 2) });
}

/** The stance valve where it moves, in words where it does not, and the ground load. */
function valvePanel(valves, load) {
  const rests = valves.map((s) => rest(s.animation));
  if (rests.some((r) => r === null)) return { title: say("plots.valve"), least: [0, 1.1], series: [...valves, load] };
  const each = valves.map((s, i) => say("plots.eachStays", { leg: s.leg, rest: rests[i] }));
  const said = new Set(rests).size === 1 ? say("plots.stays", { rest: rests[0] }) : say("plots.stay", { each: each.join(", ") });
  return { title: say("plots.loadAlone", { said }), least: [0, 1.1], series: [load] };
}

/** The walking speed that acts. */
export function pace(animations, same) {
  const speeds = animations.map((f) => (f?.speed_m_per_s ? say("unit.speed", { value: number(f.speed_m_per_s, 2) }) : null));
  const shown = same || speeds[0] === speeds[1] ? speeds.slice(1) : speeds.map((s, i) => s && `${shownLegs.names[i]} ${s}`);
  const said = shown.filter(Boolean);
  return said.length ? say("main.pace", { said: said.join(", ") }) : "";
}

/** What is drawn: panels with curves of a leg, each with its look and a `key` for a column of numbers; `least` is the
    range it has at least. */
export function panels(animations, same, colour = looks()) {
  const { names: [a, b], look } = shownLegs;
  const both = (curve, name = "{leg}") => [
    { name: name.replace("{leg}", a), leg: a, key: `a_${curve}`, animation: animations[0], curve, colour: colour.a, dash: dashes.a },
    { name: name.replace("{leg}", b), leg: b, key: `b_${curve}`, animation: animations[1], curve, colour: colour[look], dash: dashes[look] },
  ].filter((s) => s.animation && !(same && s.animation === animations[0]));
  const last = animations[1] ?? animations[0];
  const leg = last === animations[1] ? b : a;
  const prefix = last === animations[1] ? "b" : "a";
  const knee = both("knee_deg");
  if (last.packed.able_bodied_deg) {
    knee.push({ name: say("plots.published"), key: "able_bodied_deg", animation: last, curve: "able_bodied_deg", colour: colour.soft, dash: dashes.able_bodied });
  }
  const valve = both("valve", say("plots.valveOf", { leg: "{leg}" }));
  const load = { name: say(same ? "plots.load" : "plots.loadOf", { leg }), key: `${prefix}_load_bw`, animation: last, curve: "load_bw", colour: colour.load, dash: LOAD_DASH };
  return [
    { title: say("plots.flexion"), least: [-5, 75], series: knee },
    { title: say("plots.rate"), least: [-100, 100], series: both("rate_deg_per_s") },
    {
      title: say(same ? "plots.torque" : "plots.torqueOf", { leg }),
      least: [-10, 10],
      series: TORQUES.map((t) => ({ ...t, name: say(`plots.${t.curve}`), key: `${prefix}_${t.curve}`, animation: last, colour: colour[t.colour], dash: dashes[t.curve] ?? [] }))
        .filter((t) => last.packed[t.curve] && last.curve(t.curve).some((v) => Math.abs(v) > 0.01)),
    },
    valvePanel(valve, load),
  ];
}

/** Axis of all panels: instants in s, and how they are written. */
export function axis(animations) {
  const shown = animations.filter(Boolean);
  const end = Math.max(...shown.map((f) => f.end_s));
  const strides = shown.map((f) => f.contact_s);
  const stride = strides.every((s) => s && Math.abs(s - strides[0]) < 1e-3 * s) ? strides[0] : null;
  return {
    end,
    stride,
    label: say(stride ? "plots.stride" : "plots.time"),
    unit: stride ? 100 / stride : 1,
    times: Float64Array.from({ length: POINTS }, (_, i) => (end * i) / (POINTS - 1)),
  };
}

/** Values of a curve at these instants: null where it has ended, and where the ground's part of a torque ends in a step, which
    no line bridges. */
export function sampled(s, times) {
  const values = Array.from(times, (t) => s.animation.within(s.curve, t));
  if (s.curve !== "ground_and_hip_n_m") return values;
  const most = Math.max(...values.map((v) => Math.abs(v ?? 0)));
  const step = (i) => Math.abs((values[i + 1] ?? 0) - (values[i] ?? 0));
  return values.map((v, i) => (step(i) > 0.1 * most && step(i) > 4 * Math.max(step(i - 1), step(i + 1)) ? null : v));
}

export class Plots {
  constructor(seek) {
    this.seek = seek;
    this.drawn = [];
    this.t = 0;
  }

  /** Draws animations, or new data into what stands there if the curves are the same ones. */
  load(animations, same) {
    const along = axis(animations);
    const wanted = panels(animations, same);
    const xs = Array.from(along.times, (t) => t * along.unit);
    const data = wanted.map((p) => [
      xs,
      ...p.series.map((s) => sampled(s, along.times)),
    ]);
    this.along = along;
    this.instants = (animations[1] ?? animations[0]).instants;
    const key = JSON.stringify([along.label, wanted.map((p) => [p.title, p.series.map((s) => [s.name, s.colour])]), this.width()]);
    if (key !== this.key) this.build(wanted, along, data);
    else this.drawn.forEach((plot, i) => plot.setData(data[i]));
    this.key = key;
    // words for those who do not see the picture can wait until the moving is over
    clearTimeout(this.describing);
    this.describing = setTimeout(() => this.describe(wanted), 300);
  }

  /** Nothing is shown. */
  clear() {
    clearTimeout(this.describing);
    this.drawn.forEach((plot) => plot.destroy());
    this.drawn = [];
    this.key = null;
    byId("curves").replaceChildren();
  }

  width() {
    const whole = byId("curves").clientWidth;
    return Math.max(240, Math.floor(matchMedia("(min-width: 72rem)").matches ? (whole - 40) / 2 : whole));
  }

  build(wanted, along, data) {
    this.drawn.forEach((plot) => plot.destroy());
    this.drawn = [];
    byId("curves").replaceChildren();
    const colour = looks();
    const font = "15px system-ui, sans-serif";
    this.boxes = [];
    this.drawn = wanted.map((panel, i) => {
      const box = make("div", { class: "plot", role: "img" });
      byId("curves").append(make("div", { class: "panel" }, make("h2", {}, panel.title), legend(panel), box));
      const axisLook = { stroke: colour.ink, font, grid: { stroke: colour.grid, width: 1 }, ticks: { stroke: colour.grid, width: 1 } };
      const now = make("div", { class: "now" });
      const plot = new uPlot({
        width: this.width(),
        height: PLOT_HEIGHT,
        legend: { show: false },
        cursor: { show: false },
        scales: { x: { time: false }, y: { range: (_, lo, hi) => [Math.min(panel.least[0], lo), Math.max(panel.least[1], hi) * (i === 0 ? NAMES_ABOVE : 1)] } },
        axes: [{ ...axisLook, size: 34 }, { ...axisLook, size: 52 }].map((look) => ({ ...look, values: (_, all) => all.map((v) => short(v)) })),
        series: [{}, ...panel.series.map((s) => ({ label: s.name, stroke: s.colour, dash: s.dash, width: 2.5, points: { show: false } }))],
        // the line stands where the figure is, also when the scales change
        hooks: { drawAxes: [(u) => this.drawInstants(u, i === 0)], draw: [() => this.at(this.t)] },
      }, data[i], box);
      plot.now = now;
      plot.over.append(now);
      const move = (e) => this.seek(plot.posToVal(e.offsetX, "x") / this.along.unit);
      plot.over.addEventListener("pointerdown", (e) => {
        plot.over.setPointerCapture(e.pointerId);
        move(e);
      });
      plot.over.addEventListener("pointermove", (e) => e.buttons && move(e));
      this.boxes.push(box);
      return plot;
    });
    byId("curves").append(make("p", { class: "axis-name" }, along.label));
  }

  /** Upright lines where something happens; their names stand over the curves of the first panel. */
  drawInstants(u, named) {
    const c = u.ctx;
    const colour = looks();
    c.save();
    c.strokeStyle = colour.soft;
    c.fillStyle = colour.ink;
    c.lineWidth = 1;
    c.textAlign = "left";
    c.textBaseline = "alphabetic";
    c.font = `${13 * devicePixelRatio}px system-ui, sans-serif`;
    // each name in the first row where it stands over no other
    const ends = [];
    for (const [t, name] of this.instants) {
      const x = Math.round(u.valToPos(t * this.along.unit, "x", true));
      c.beginPath();
      c.moveTo(x, u.bbox.top);
      c.lineTo(x, u.bbox.top + u.bbox.height);
      c.stroke();
      if (!named) continue;
      const width = c.measureText(name).width;
      const right = x + width + 8 < u.bbox.left + u.bbox.width;
      const from = right ? x + 4 : x - width - 4;
      const free = ends.findIndex((end) => end < from);
      const row = free < 0 ? ends.length : free;
      ends[row] = from + width + 6;
      c.fillText(name, from, u.bbox.top + (15 + 16 * row) * devicePixelRatio);
    }
    c.restore();
  }

  at(t_s) {
    this.t = t_s;
    for (const plot of this.drawn) if (plot.now) plot.now.style.left = `${plot.valToPos(t_s * this.along.unit, "x")}px`;
  }

  /** What the picture shows, for those who do not see it. */
  describe(wanted) {
    wanted.forEach((panel, i) => {
      const said = panel.series.map((s) => {
        const values = s.animation.curve(s.curve);
        return say("plots.range", { name: s.name, least: number(Math.min(...values), 1), most: number(Math.max(...values), 1) });
      });
      this.boxes[i].setAttribute("aria-label", `${panel.title}: ${said.join("; ")}`);
    });
  }
}

/** Names of the curves with a piece of each line. */
function legend(panel) {
  const ns = "http://www.w3.org/2000/svg";
  return make("ul", { class: "legend" }, ...panel.series.map((s) => {
    const svg = document.createElementNS(ns, "svg");
    svg.setAttribute("viewBox", "0 0 44 8");
    svg.setAttribute("aria-hidden", "true");
    const line = document.createElementNS(ns, "line");
    for (const [k, v] of Object.entries({ x1: 0, x2: 44, y1: 4, y2: 4, stroke: s.colour, "stroke-width": 3, "stroke-dasharray": s.dash.join(" ") })) {
      line.setAttribute(k, v);
    }
    svg.append(line);
    return make("li", {}, svg, s.name);
  }));
}
