// The words of the page in its language, as they stand in the document, and numbers as that language writes them.

const { lang, texts } = JSON.parse(document.getElementById("words").textContent);

export const language = lang;

/** A number with so many decimals. */
export const number = (value, decimals = 0) =>
  value.toLocaleString(lang, { minimumFractionDigits: decimals, maximumFractionDigits: decimals, useGrouping: false });

/** A number without useless digits. */
export const short = (value, decimals = 2) =>
  (Math.round(value * 10 ** decimals) / 10 ** decimals + 0).toLocaleString(lang, { maximumFractionDigits: decimals, useGrouping: false });

/** A text by key, with values in its holes: `{name}`. A key that no language has shows itself. */
export const say = (key, values = {}) => (texts[key] ?? key).replace(/\{(\w+)\}/g, (_, name) => values[name]);

/** The name of something that has a key of its own, such as a setting; else the key. */
export const nameOf = (group, key) => texts[`${group}.${key}`] ?? key;
