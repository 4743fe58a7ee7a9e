// The page in German: words, numbers, accessibility, and the same state in the other language.

import assert from "node:assert/strict";
import { test } from "node:test";
import { execFileSync } from "node:child_process";
import { pathToFileURL } from "node:url";
import { accessible, clean, fits, guess, open, output, program, settle, started } from "./open.mjs";

const { server, b } = await started();
const german = (hash = "") => `${server.url}?lang=de${hash}`;

/** Words that only English has; names and commands stand in German text as they are. */
const ENGLISH = /\b(the|and|with|knee|foot|is|of|settings|straight|before|heel|within|limit|broken|doubtful|walking|what|not)\b/i;

/** Visible text without commands, names of files and citations. */
async function text(page) {
  const all = await page.evaluate(() => {
    for (const e of document.querySelectorAll("#command, #version, #printed p:last-child")) e.hidden = true;
    return document.body.innerText;
  });
  return all.replace(/(Hood|Schwartz|Highsmith)[^.;)]*/g, "");
}

const english = (said) => said.split("\n").filter((line) => ENGLISH.test(line));

test("no English is left, and numbers have commas", async () => {
  for (const hash of ["", "#task=walk-fast&b=swing-flexion:0&open=settings,measured,curves,numbers,keep", "#task=sit-down&b=catch-load:60&open=numbers",
    "#task=stand&open=numbers", "#lesson=3&votes=1.0.0.0&revealed=1", "challenge"]) {
    // before its first trial a challenge has no figure to wait for
    const page = await open(b, german(hash === "challenge" ? "" : hash));
    if (hash === "challenge") await page.locator("#go-challenges").click();
    await settle(page);
    if (hash.includes("revealed")) await page.waitForSelector("#lesson-found h3");
    const said = await text(page);
    assert.deepEqual(english(said), [], hash);
    assert.doesNotMatch(said.replace(/\d+\.\d+\.\d+/g, ""), /\d\.\d/, hash);
    assert.equal(await page.locator("html").getAttribute("lang"), "de");
    await accessible(page, hash);
    await fits(page, hash);
    clean(page, server.url);
    await page.context().close();
  }
});

test("longer words fit on a phone and while presenting", async () => {
  for (const [hash, viewport] of [["#open=settings,keep", { width: 360, height: 780 }], ["#lesson=1", { width: 360, height: 780 }], ["#present=1", { width: 1280, height: 720 }]]) {
    const page = await open(b, german(hash), { viewport });
    await fits(page, hash);
    await page.context().close();
  }
});

test("the caution stands on the page and on the sheet", async () => {
  const page = await open(b, german());
  assert.match(await page.locator("#caution").innerText(), /kein Medizinprodukt.*schreibt keine Einstellung vor/s);
  const sheet = await (await fetch(`${server.url}sheet?lang=de`)).text();
  assert.match(sheet, /<html lang="de">/);
  assert.match(sheet, /kein Medizinprodukt.*schreibt keine Einstellung vor/s);
  const plain = sheet.replace(/<style>.*?<\/style>/s, "").replace(/<code>.*?<\/code>/s, "").replace(/<[^>]*>/g, "\n");
  assert.deepEqual(english(plain), []);
});

test("the other language keeps the state, also what is hidden", async () => {
  const page = await open(b, `${server.url}#task=walk-fast&all=speed_m_per_s:1.3&b=swing-flexion:20`);
  await page.locator("#more-settings summary").click();
  await page.locator("#hide").click();
  await settle(page);
  const hash = new URL(page.url()).hash;
  await page.locator("#language").click();
  await page.waitForFunction(() => document.documentElement.lang === "de");
  await settle(page);
  assert.equal(new URL(page.url()).hash, hash);
  await page.locator("#hide").click();
  await settle(page);
  assert.match(new URL(page.url()).hash, /b=swing-flexion:20/);
  await page.locator("#language").click();
  await page.waitForFunction(() => document.documentElement.lang === "en");
});

test("the lesson file in German, opened from disk", async () => {
  const path = `${output}lektionen.html`;
  execFileSync(program, ["lesson", "--no-engine", "--lang", "de", "--output", path], { stdio: "pipe" });
  const address = pathToFileURL(path).href;
  const page = await open(b, address, { offline: true });
  for (const n of [0, 4, 7]) {
    await page.locator("#lesson-list button").nth(n).click();
    await guess(page);
    assert.deepEqual(english(await text(page)), [], `lesson ${n + 1}`);
  }
  // a file holds one language
  assert.equal(await page.locator("#language").isVisible(), false);
  await accessible(page, "the file");
  clean(page, address);
});

test("what was measured, what to turn next, and what is wrong in a table", async () => {
  const page = await open(b, german("#task=walk-comfortable&all=speed_m_per_s:1.2&a=&b=&open=measured"));
  const table = (name, rows) => page.locator("#measured-file").setInputFiles({ name, mimeType: "text/csv", buffer: Buffer.from(rows) });
  await table("wrong.csv", "time_s,knee_deg\n0,1\n0.01,x\n");
  await page.waitForFunction(() => document.querySelector("#measured").innerText.includes("Zeile 3"));
  await page.locator("#measured-file").setInputFiles(new URL("../../docs/examples/walk.csv", import.meta.url).pathname);
  await page.waitForSelector("#measured-plot svg");
  await page.locator("#seen-heel-flies-up").selectOption("clear");
  await page.locator("#measured-next").click();
  await page.waitForSelector("#measured-found table", { timeout: 60000 });
  assert.deepEqual(english(await text(page)), []);
  await page.locator("#measured").screenshot({ path: `${output}naechstes.png` });
});

test("a language that there is not names those there are", async () => {
  for (const path of ["?lang=tlh", "start.json?lang=tlh"]) {
    const response = await fetch(server.url + path);
    assert.equal(response.status, 400);
    assert.match(await response.text(), /known: en, de/);
  }
});
