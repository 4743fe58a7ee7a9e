// Small helpers that every module uses.

import { nameOf, short } from "./words.js";

/** The element of an id. */
export const byId = (id) => document.getElementById(id);

/** A new element: attributes, then children (strings are text). */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((c) => c !== null && c !== undefined));
  return element;
}

/** The same for a drawing. */
export function draw(tag, attributes = {}, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

/** Shows or hides. */
export function show(element, shown) {
  element.hidden = !shown;
}

/** Hands a text to the user as a file. */
export function download(name, media, text) {
  const url = URL.createObjectURL(new Blob([text], { type: media }));
  const link = make("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10000);
}

export const lessMotion = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** Dashes of A to D, the able-bodied curve and each torque, the same as in every other picture; the program tells them. */
export const dashes = { a: [], b: [], c: [], d: [], able_bodied: [] };

/** Names of the two legs that are shown, and whose colour and dash the second has: C and D of a lesson appear as
    themselves. */
export const shownLegs = { names: ["A", "B"], look: "b" };

let palette = null;

/** Colours as the style sheet has them now: light, dark or on paper. Read once, for reading them takes time. */
export function looks() {
  if (!palette) {
    const style = getComputedStyle(document.documentElement);
    const names = ["a", "b", "c", "d", "ink", "soft", "grid", "load", "purple", "amber", "paper"];
    palette = Object.fromEntries(names.map((n) => [n, style.getPropertyValue(`--${n}`).trim()]));
  }
  return palette;
}

/** The light colours, whatever the screen shows now: for what is saved and will be seen elsewhere. */
export function lightLooks() {
  const found = { ...looks() };
  for (const sheet of document.styleSheets) {
    const root = Array.from(sheet.cssRules).find((rule) => rule.selectorText === ":root");
    if (!root) continue;
    for (const name of Object.keys(found)) found[name] = root.style.getPropertyValue(`--${name}`).trim() || found[name];
  }
  return found;
}

/** The style sheet has changed its colours. */
export function forgetLooks() {
  palette = null;
}

/** The first part of a scenario's own sentence: `Slow level walking at 0.8 m/s`. */
export const briefly = (scenario) => scenario.about.split(/[;:]|\.(?:\s|$)/)[0];

/** A task without the pace that it is named with. */
export const withoutPace = (task) => task.replace(/(,| at) [\d.,]+ m\/s$/, "");

/** The changes of a leg in words: `swing-flexion 0 %, oil temperature 0 °C`. */
export function inWords(start, pairs) {
  return Object.entries(pairs).map(([key, value]) => {
    const input = start.inputs.find((i) => i.key === key);
    const setting = start.settings.some((s) => s.key === key);
    const shown = Number.isFinite(Number(value)) ? short(Number(value), 4) : value;
    return `${setting ? nameOf("settings", key) : input?.label ?? nameOf("settings", key)} ${shown} ${input?.unit ?? ""}`.trim();
  }).join(", ");
}
