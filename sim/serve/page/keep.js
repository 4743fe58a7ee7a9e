// Keeping and passing on: curves as CSV and SVG, the same question on the command line, what is printed.

import { byId, download, lightLooks, make, shownLegs } from "./base.js";
import { say, short } from "./words.js";
import { both } from "./verdict.js";
import { axis, pace, panels, sampled } from "./plots.js";

const quoted = (text) => `"${String(text).replaceAll('"', '""')}"`;

/** The curves that are shown, a row per instant; empty beyond the end of a leg's motion. */
export function csv(animations, same) {
  const along = axis(animations);
  const series = panels(animations, same).flatMap((p) => p.series.map((s) => ({ ...s, head: s.key })));
  const head = ["t_s", ...(along.stride ? ["stride_pct"] : []), ...series.map((s) => s.head)];
  const rows = Array.from(along.times, (t) => [
    t.toFixed(5),
    ...(along.stride ? [(t * along.unit).toFixed(3)] : []),
    ...series.map((s) => s.animation.within(s.curve, t)?.toFixed(4) ?? ""),
  ]);
  return [head.map(quoted).join(","), ...rows.map((r) => r.join(","))].join("\n") + "\n";
}

const escaped = (text) => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");

/** Lines of at most so many characters. */
function wrapped(text, most) {
  const lines = [""];
  for (const word of text.split(" ")) {
    if (lines.at(-1) && lines.at(-1).length + word.length + 1 > most) lines.push("");
    lines[lines.length - 1] += lines.at(-1) ? ` ${word}` : word;
  }
  return lines;
}

/** Round values over a range, about `count` of them. */
function ticks(lo, hi, count) {
  const rough = (hi - lo) / count;
  const ten = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * ten).find((s) => s >= rough);
  const all = [];
  for (let n = Math.ceil(lo / step - 1e-9); n * step <= hi + 1e-9 * step; n++) all.push(Number((n * step).toPrecision(6)));
  return all;
}

/** Puts things of some width into rows, each into the first in which it stands over no other. */
function inRows(things) {
  const ends = [];
  return things.map((thing) => {
    const free = ends.findIndex((end) => end <= thing.from);
    const row = free < 0 ? ends.length : free;
    ends[row] = thing.to;
    return { ...thing, row };
  });
}

const PICTURE_WIDTH = 760;
const LEFT = 70;
const RIGHT = PICTURE_WIDTH - 20;
const PLOT_HIGH = 190;
/** Size of small text, whose capitals are 1.9 mm high on A5, and its height in lines. */
const SMALL = 13.5;
const LINE = 18;

/** Keys of a panel's curves, in as many lines as they take. */
function keys(panel) {
  let [at, row] = [LEFT, 0];
  return panel.series.map((s) => {
    const wide = 56 + 8.1 * s.name.length;
    if (at > LEFT && at + wide > RIGHT) [at, row] = [LEFT, row + 1];
    const key = { s, at, row };
    at += wide;
    return key;
  });
}

/** The curves that are shown, as a picture on its own, always in light colours; `inputs` are lines of text. */
export function svg(animations, same, title, inputs) {
  const along = axis(animations);
  const colours = lightLooks();
  const text = (x, y, said, more = "") => `<text x="${x.toFixed(1)}" y="${y.toFixed(1)}" ${more}>${escaped(said)}</text>`;
  const rule = (x1, y1, x2, y2, more) =>
    `<line x1="${x1.toFixed(1)}" y1="${y1.toFixed(1)}" x2="${x2.toFixed(1)}" y2="${y2.toFixed(1)}" ${more}/>`;
  const x = (t) => LEFT + ((RIGHT - LEFT) * t) / along.end;
  const lines = [pace(animations, same), ...inputs].filter(Boolean).flatMap((line) => wrapped(line, 92));
  const titles = wrapped(title, 66);
  const out = titles.map((line, i) => text(LEFT, 30 + 22 * i, line, 'font-size="18" font-weight="bold"'));
  let top = 30 + 22 * titles.length;
  lines.forEach((line, i) => out.push(text(LEFT, top + LINE * i, line, `font-size="${SMALL}"`)));
  top += LINE * lines.length;
  // names of instants once, over the first plot
  const instants = inRows((animations[1] ?? animations[0]).instants.map(([t, name]) => {
    const wide = 7.2 * name.length;
    const from = Math.min(Math.max(x(t) - wide / 2, LEFT), RIGHT - wide);
    return { t, name, from, to: from + wide + 10 };
  }));
  const rows = Math.max(0, ...instants.map((i) => i.row + 1));
  panels(animations, same, colours).forEach((panel, number) => {
    const named = keys(panel);
    top += 26;
    out.push(text(LEFT, top, panel.title, 'font-weight="bold"'));
    for (const { s, at, row } of named) {
      const y = top + 20 + LINE * row;
      out.push(rule(at, y - 5, at + 34, y - 5, `stroke="${s.colour}" stroke-width="3" stroke-dasharray="${s.dash.join(" ")}"`));
      out.push(text(at + 40, y, s.name));
    }
    top += 28 + LINE * named.at(-1).row;
    if (number === 0) {
      for (const i of instants) out.push(text(i.from, top + 12 + 16 * i.row, i.name, `font-size="${SMALL}"`));
      top += 16 * rows + 4;
    }
    const values = panel.series.flatMap((s) => Array.from(s.animation.curve(s.curve)));
    const [lo, hi] = [Math.min(panel.least[0], ...values), Math.max(panel.least[1], ...values)];
    const bottom = top + PLOT_HIGH;
    const y = (v) => bottom - (PLOT_HIGH * (v - lo)) / (hi - lo);
    for (const v of ticks(lo, hi, 6)) {
      out.push(rule(LEFT, y(v), RIGHT, y(v), `stroke="${colours.ink}" stroke-opacity="${v === 0 ? 0.5 : 0.15}"`));
      out.push(text(LEFT - 8, y(v) + 5, short(v).replace("-", "−"), 'text-anchor="end"'));
    }
    out.push(rule(LEFT, top, LEFT, bottom, `stroke="${colours.ink}"`), rule(LEFT, bottom, RIGHT, bottom, `stroke="${colours.ink}"`));
    for (const v of ticks(0, along.end * along.unit, 8)) {
      const at = x(v / along.unit);
      out.push(rule(at, bottom, at, bottom + 5, `stroke="${colours.ink}"`));
      out.push(text(at, bottom + 19, short(v), 'text-anchor="middle"'));
    }
    for (const i of instants) out.push(rule(x(i.t), top, x(i.t), bottom, `stroke="${colours.ink}" stroke-opacity="0.4"`));
    for (const s of panel.series) {
      const runs = [[]];
      sampled(s, along.times).forEach((v, i) => {
        if (v === null) runs.push([]);
        else runs.at(-1).push(`${x(along.times[i]).toFixed(1)},${y(v).toFixed(1)}`);
      });
      for (const points of runs.filter((run) => run.length > 1)) {
        out.push(`<polyline fill="none" stroke="${s.colour}" stroke-width="2.5" stroke-dasharray="${s.dash.join(" ")}" points="${points.join(" ")}"/>`);
      }
    }
    top = bottom + 24;
  });
  out.push(text((LEFT + RIGHT) / 2, top + 14, along.label, 'text-anchor="middle"'));
  out.push(text(LEFT, top + 38, CAVEAT, `font-size="${SMALL}"`));
  const height = top + 52;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${PICTURE_WIDTH} ${height}" width="${PICTURE_WIDTH}" height="${height}" ` +
    `font-family="system-ui, sans-serif" font-size="15" fill="${colours.ink}" role="img"><title>${escaped(title)}</title>` +
    `<rect width="100%" height="100%" fill="${colours.paper}"/>${out.join("")}</svg>\n`;
}

/** A question on the command line. */
export function command({ scenario, legs }) {
  // goals of a challenge are the page's own
  return `kneedamp compare --scenario ${scenario.split("@")[0]} --a "${legs[0]}" --b "${legs[1]}"`;
}

const CAVEAT = say("keep.caveat");

/** The inputs of both legs, a text each. */
function inputs(answer, same) {
  const said = (i) => `${same ? both() : shownLegs.names[i]}: ${answer.legs[i].inputs.join("; ") || say("verdicts.cannot run")}.`;
  return same ? [said(1)] : [said(0), said(1)];
}

/** What stands on paper besides the figure and the verdict. */
export function fillPrinted({ answer, question, same, animations, title }, hidden) {
  byId("printed").replaceChildren(
    make("h2", {}, say("keep.inputs")),
    make("p", {}, `${title}. ${pace(animations, same)} ${CAVEAT}`),
    ...(hidden ? [] : inputs(answer, same).map((line) => make("p", {}, line))),
    hidden ? "" : make("p", {}, say("keep.command", { command: command(question) })));
}

export class Keep {
  /** `now()` gives what is shown: {animations, same, answer, question, title}; null where there is nothing. */
  constructor(now) {
    byId("save-csv").addEventListener("click", () => {
      const { animations, same, answer } = now();
      download(`kneedamp-${answer.scenario}.csv`, "text/csv", csv(animations, same));
    });
    byId("save-svg").addEventListener("click", () => {
      const { animations, same, answer, question, title } = now();
      const said = question.hidden ? [say("keep.hidden")] : inputs(answer, same);
      download(`kneedamp-${answer.scenario}.svg`, "image/svg+xml", svg(animations, same, title, said));
    });
    byId("print").addEventListener("click", () => window.print());
  }

  /** Whether there is something to save. */
  can(saved) {
    for (const id of ["save-csv", "save-svg"]) byId(id).disabled = !saved;
  }
}
