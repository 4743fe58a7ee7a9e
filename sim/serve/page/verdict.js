// What comes of it, in words; limits and numbers as tables.

import { byId, make, shownLegs } from "./base.js";
import { nameOf, say } from "./words.js";

/** Both legs by name. */
export const both = () => say("verdict.both", { a: shownLegs.names[0], b: shownLegs.names[1] });

/** A leg's card: headline, then what would be seen. */
export function card(letter, leg, name, heading = "h2") {
  const seen = leg.seen.map((s) => make("li", {}, s.what, s.numbers ? make("small", {}, ` ${s.numbers}`) : null));
  return make("article", { class: `card card-${letter}` },
    make(heading, {}, name ? make("span", { class: "tag" }, `${name} `) : null, `${leg.headline} `,
      make("span", { class: "mark", "aria-hidden": "true" }, leg.mark)),
    seen.length ? make("ul", {}, ...seen) : null,
    leg.closest ? make("p", { class: "fine" }, say("verdict.closest", { numbers: leg.closest })) : null,
    ...leg.notes.map((n) => make("p", { class: "fine" }, n)));
}

export function showVerdict(answer, same, hidden) {
  const box = byId("verdict");
  if (hidden) {
    box.replaceChildren(make("p", { class: "guess" }, say("verdict.hidden")));
    return;
  }
  const [a, b] = answer.legs;
  if (same) box.replaceChildren(card(shownLegs.look, b, ""));
  else box.replaceChildren(card(shownLegs.look, b, shownLegs.names[1]), card("a", a, shownLegs.names[0]));
}

/** The verdict in one line, for those who listen. */
export function inShort(answer, same) {
  const said = (leg, name) => [`${name}${leg.headline}.`, ...leg.seen.map((s) => s.what)].join(" ");
  const [a, b] = answer.legs;
  return same ? said(b, "") : `${said(b, `${shownLegs.names[1]}: `)} ${said(a, `${shownLegs.names[0]}: `)}`;
}

export function showError(error) {
  byId("verdict").replaceChildren(make("p", { class: "error" }, error.message));
}

/** A table that can be scrolled where it is too wide; the first of a row is its heading. */
export function table(caption, head, rows) {
  return make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    make("table", {},
      make("caption", {}, caption),
      make("thead", {}, make("tr", {}, ...head.map((h) => make("th", { scope: "col" }, h)))),
      make("tbody", {}, ...rows.map((r) => make("tr", {}, make("th", { scope: "row" }, r[0]),
        ...r.slice(1).map((c) => make("td", {}, c)))))));
}

/** Limits with verdicts, then every outcome; `scenario` says what they are. */
export function showNumbers(scenario, answer, same, hidden) {
  const box = byId("numbers");
  if (hidden) {
    box.replaceChildren(make("p", {}, say("verdict.hiddenNumbers")));
    return;
  }
  const legs = same ? [answer.legs[1]] : answer.legs;
  const names = same ? [both()] : shownLegs.names;
  const said = (leg, i) => {
    const l = leg.limits[i];
    if (!l) return nameOf("verdicts", leg.verdict);
    const words = [l.value, `${l.mark} ${l.verdict}`.trim()];
    if (l.margin) words.push(say("verdict.margin", { margin: l.margin }));
    if (l.in_band) words.push(say("verdict.inBand"));
    return words.join(", ");
  };
  const limits = scenario.limits.map((l, i) => [l.label, l.bounds, ...legs.map((leg) => said(leg, i)), l.source]);
  const outcomes = scenario.outcomes.map((o) => [
    o.judged ? `${o.label} [J]` : o.label, ...legs.map((leg) => leg.outcomes[o.key] ?? nameOf("verdicts", leg.verdict)),
  ]);
  const told = answer.noticed[1];
  box.replaceChildren(
    told && !same ? make("p", {}, make("strong", {}, `${say("verdict.against", { a: shownLegs.names[0], b: shownLegs.names[1] })} `), told) : "",
    limits.length ? table(say("verdict.limits"), [say("verdict.outcome"), say("verdict.limit"), ...names, say("verdict.source")], limits) : make("p", {}, say("verdict.noLimits")),
    table(say("verdict.outcomes"), [say("verdict.outcome"), ...names], outcomes),
    make("p", { class: "fine" }, say("verdict.judged")));
}
