// A measured knee on the page: beside the model, its heel contact moved, and the steps that `next` ranks.

import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";
import { test } from "node:test";
import { accessible, clean, open, output, settle, started } from "./open.mjs";

const { server, b } = await started();
const WALK = fileURLToPath(new URL("../../docs/examples/walk.csv", import.meta.url));
const AT = "#task=walk-comfortable&all=speed_m_per_s:1.2&open=measured";

const points = (page, line) => page.locator(`#measured-plot polyline.${line}`).getAttribute("points")
  .then((text) => text.split(" ").map((p) => p.split(",").map(Number)));

async function loaded(options) {
  const page = await open(b, server.url + AT, options);
  await settle(page);
  await page.locator("#measured-file").setInputFiles(WALK);
  await page.waitForSelector("#measured-plot polyline.own");
  return page;
}

test("a table is read and drawn beside the model", async () => {
  const page = await loaded();
  assert.match(await page.locator("#measured").innerText(), /peak 58° at 70 % of the stride/);
  const [own, model] = [await points(page, "own"), await points(page, "model")];
  assert.equal(own.length, 101);
  assert.equal(model.length, 101);
  // both bend to about the same height: y is down
  const top = (line) => Math.min(...line.map((p) => p[1]));
  assert.ok(Math.abs(top(own) - top(model)) < 15, `${top(own)} ${top(model)}`);
  await page.screenshot({ path: `${output}measured.png`, fullPage: true });
  await accessible(page);
  clean(page, server.url);
});

test("heel contact is moved by hand and by keyboard, and the program is asked again", async () => {
  const page = await loaded();
  const peak = async () => (await points(page, "own")).reduce((a, p) => (p[1] < a[1] ? p : a))[0];
  const before = await peak();
  await page.locator("#measured-later").focus();
  for (let i = 0; i < 5; i++) await page.keyboard.press("ArrowRight");
  const asked = page.waitForResponse((r) => r.url().endsWith("/curve"));
  await page.keyboard.press("ArrowRight");
  await asked;
  await page.waitForFunction(() => /at 64 % of the stride/.test(document.getElementById("measured").innerText));
  assert.ok((await peak()) < before - 25);
  const box = await page.locator("#measured-plot svg").boundingBox();
  await page.mouse.move(box.x + 300, box.y + 100);
  await page.mouse.down();
  await page.mouse.move(box.x + 300 + 0.06 * 0.92 * box.width, box.y + 100);
  await page.mouse.up();
  await page.waitForFunction(() => /at 70 % of the stride/.test(document.getElementById("measured").innerText));
  clean(page, server.url);
});

test("steps are ranked as next ranks them, and what is wrong is said", async () => {
  const page = await loaded();
  await page.locator("#measured-next").click();
  await page.waitForFunction(() => /what was seen/.test(document.getElementById("measured-found").innerText));
  page.problems = page.problems.filter((p) => !p.includes("422"));
  await page.locator("#seen-knee-late-straight").selectOption("clear");
  const advised = page.evaluate(() => new Promise((done) => window.addEventListener("kneedamp:advised", done, { once: true })).then(() => true));
  await page.locator("#measured-next").click();
  await advised;
  const said = await page.locator("#measured-found").innerText();
  assert.match(said, /Told: knee-late-straight: clear; measured in walk-comfortable/);
  assert.match(said, /no prescription/);
  assert.match(said, /not a medical device/);
  assert.ok((await page.locator("#measured-found tbody tr").count()) > 3);
  await page.screenshot({ path: `${output}measured-next.png`, fullPage: true });
  clean(page, server.url);
});

test("a table that is none is refused in words", async () => {
  const page = await open(b, server.url + AT);
  await settle(page);
  await page.locator("#measured-file").setInputFiles({ name: "x.csv", mimeType: "text/csv", buffer: Buffer.from("a,b\n1,2\n") });
  await page.waitForFunction(() => /time_s or percent: no such column/.test(document.getElementById("measured").innerText));
});
