// Keeping and passing on: curves as CSV and SVG, the same question on the command line, what is printed.

import { byId, download, looks, make } from "./base.js";
import { axis, panels } from "./plots.js";
import { legTexts } from "./state.js";

const quoted = (text) => `"${String(text).replaceAll('"', '""')}"`;

/** The curves that are shown, a row per instant; empty beyond the end of a leg's motion. */
export function csv(films, same) {
  const along = axis(films);
  const series = panels(films, same).flatMap((p) => p.series.map((s) => ({ ...s, head: `${p.title} ${s.name}` })));
  const head = ["t_s", ...(along.stride ? ["stride_pct"] : []), ...series.map((s) => s.head)];
  const rows = Array.from(along.times, (t) => [
    t.toFixed(5),
    ...(along.stride ? [(t * along.unit).toFixed(3)] : []),
    ...series.map((s) => s.film.within(s.curve, t)?.toFixed(4) ?? ""),
  ]);
  return [head.map(quoted).join(","), ...rows.map((r) => r.join(","))].join("\n") + "\n";
}

const escaped = (text) => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");

/** The curves that are shown, as a picture on its own. */
export function svg(films, same, title, inputs) {
  const [width, left, high, gap] = [760, 70, 190, 64];
  const along = axis(films);
  const list = panels(films, same);
  const { ink, paper } = looks();
  const x = (t) => left + ((width - left - 20) * t) / along.end;
  const body = list.map((panel, row) => {
    const top = 66 + inputs.length * 18 + row * (high + gap);
    const values = panel.series.flatMap((s) => Array.from(s.film.curve(s.curve)));
    const lo = Math.min(panel.least[0], ...values);
    const hi = Math.max(panel.least[1], ...values);
    const y = (v) => top + high * (1 - (v - lo) / (hi - lo));
    const step = 10 ** Math.floor(Math.log10((hi - lo) / 2));
    const ticks = [];
    for (let v = Math.ceil(lo / step) * step; v <= hi; v += step) ticks.push(v);
    const lines = ticks.filter((_, i) => ticks.length < 9 || i % 2 === 0).map((v) =>
      `<line x1="${left}" x2="${width - 20}" y1="${y(v).toFixed(1)}" y2="${y(v).toFixed(1)}" stroke="${ink}" stroke-opacity="0.2"/>` +
      `<text x="${left - 8}" y="${(y(v) + 5).toFixed(1)}" text-anchor="end">${Number(v.toPrecision(6))}</text>`);
    const curves = panel.series.map((s) => {
      const points = Array.from(along.times, (t) => [t, s.film.within(s.curve, t)]).filter(([, v]) => v !== null)
        .map(([t, v]) => `${x(t).toFixed(1)},${y(v).toFixed(1)}`);
      return `<polyline fill="none" stroke="${s.colour}" stroke-width="2.5" stroke-dasharray="${s.dash.join(" ")}" points="${points.join(" ")}"/>`;
    });
    let at = left;
    const names = panel.series.map((s) => {
      const key = `<line x1="${at}" x2="${at + 34}" y1="${top - 10}" y2="${top - 10}" stroke="${s.colour}" stroke-width="3" stroke-dasharray="${s.dash.join(" ")}"/>` +
        `<text x="${at + 40}" y="${top - 5}">${escaped(s.name)}</text>`;
      at += 60 + 8.2 * s.name.length;
      return key;
    });
    return `<text x="${left}" y="${top - 28}" font-weight="bold">${escaped(panel.title)}</text>` +
      [...names, ...lines, ...curves].join("");
  });
  const height = 66 + inputs.length * 18 + list.length * (high + gap);
  const marks = (films[1] ?? films[0]).instants.map(([t, name]) =>
    `<line x1="${x(t).toFixed(1)}" x2="${x(t).toFixed(1)}" y1="${66 + inputs.length * 18}" y2="${height - gap}" stroke="${ink}" stroke-opacity="0.35"/>` +
    `<text x="${x(t).toFixed(1)}" y="${height - 34}" text-anchor="middle" font-size="12">${escaped(name)}</text>`);
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" ` +
    `font-family="system-ui, sans-serif" font-size="14" fill="${ink}" role="img"><title>${escaped(title)}</title>` +
    `<rect width="100%" height="100%" fill="${paper}"/><text x="${left}" y="26" font-size="18" font-weight="bold">${escaped(title)}</text>` +
    inputs.map((line, i) => `<text x="${left}" y="${46 + 18 * i}" font-size="12">${escaped(line)}</text>`).join("") +
    `${body.join("")}${marks.join("")}<text x="${left}" y="${height - 10}" font-size="12">${escaped(along.label)}</text></svg>\n`;
}

/** The same question on the command line. */
export function command(state) {
  const [a, b] = legTexts(state);
  return `kneedamp compare --scenario ${state.task} --a "${a}" --b "${b}"`;
}

/** What stands on paper besides the figure and the verdict. */
export function fillPrinted(answer, state, same, hidden) {
  const leg = (i) => make("p", {}, make("strong", {}, same ? "A and B: " : `${"AB"[i]}: `), answer.legs[i].inputs.join("; "), ".");
  byId("printed").replaceChildren(
    make("h2", {}, "Inputs"),
    make("p", {}, `Task ${answer.scenario}. Teaching page, model person: what the model shows, no settings to use.`),
    ...(hidden ? [] : same ? [leg(1)] : [leg(0), leg(1)]),
    hidden ? "" : make("p", {}, `On the command line: ${command(state)}`));
}

export class Keep {
  /** `now()` gives what is shown: {films, same, answer, state}. */
  constructor(now) {
    byId("save-csv").addEventListener("click", () => {
      const { films, same, state } = now();
      download(`kneedamp-${state.task}.csv`, "text/csv", csv(films, same));
    });
    byId("save-svg").addEventListener("click", () => {
      const { films, same, state, answer } = now();
      const inputs = answer.legs.map((l, i) => `${"AB"[i]}: ${l.inputs[1] ?? ""}`);
      download(`kneedamp-${state.task}.svg`, "image/svg+xml", svg(films, same, `Task ${state.task}`, inputs));
    });
    byId("print").addEventListener("click", () => window.print());
  }
}
