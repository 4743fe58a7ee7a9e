// The lesson file without an engine, opened from disk: no server, no network.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { statSync } from "node:fs";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { accessible, bareLessons, browser, clean, fits, guess, open, output, program, saysTheSame, serve, settle } from "./open.mjs";

const path = `${output}lessons.html`;
const address = pathToFileURL(path).href;
let b;

before(async () => {
  execFileSync(program, ["lesson", "--no-engine", "--output", path], { stdio: "pipe" });
  b = await browser();
});

after(async () => b?.close());

test("it is small, opens offline and asks for nothing", async () => {
  assert.ok(statSync(path).size <= 2_000_000, `${statSync(path).size} bytes`);
  const page = await open(b, address, { offline: true, viewport: { width: 390, height: 800 } });
  assert.match(await page.locator("h1").innerText(), /^1\./);
  assert.match(await page.locator("#caution").innerText(), /not a medical device/);
  assert.equal(await page.locator("#go-explore").isVisible(), false);
  // without an engine that can run any setting there are no challenges, and the file says so
  assert.equal(await page.locator("#go-challenges").isVisible(), false);
  assert.match(await page.locator("#no-challenges").innerText(), /left out/);
  assert.deepEqual(page.asked.filter((u) => u !== address && !u.startsWith("data:")), []);
  clean(page, address);
  await page.screenshot({ path: `${output}lesson-390.png` });
});

test("every lesson: guess, reveal, every task, every step of every slider", async () => {
  const page = await open(b, address, { offline: true });
  const count = await page.locator("#lesson-list button").count();
  assert.equal(count, 8);
  for (let n = 1; n <= count; n++) {
    await page.locator("#lesson-list button").nth(n - 1).click();
    assert.equal(await page.locator("#verdict").innerText(), "");
    await guess(page);
    const tasks = await page.locator('input[name="lesson-task"]').count();
    for (let t = 0; t < Math.max(1, tasks); t++) {
      if (tasks) await page.locator('input[name="lesson-task"]').nth(t).check();
      const sliders = await page.locator('[id^="grid-"]').count();
      assert.ok(sliders >= 1);
      const steps = await page.evaluate(async (many) => {
        const ranges = Array.from({ length: many }, (_, i) => document.getElementById(`grid-${i}`));
        const tried = [];
        const last = (r) => Number(r.max);
        for (let i = 0; i <= last(ranges[0]); i++) {
          for (let j = 0; j <= (ranges[1] ? last(ranges[1]) : 0); j++) {
            ranges[0].value = i;
            if (ranges[1]) ranges[1].value = j;
            const drawn = new Promise((r) => window.addEventListener("kneedamp:drawn", r, { once: true }));
            ranges[0].dispatchEvent(new Event("input", { bubbles: true }));
            await drawn;
            tried.push(document.getElementById("verdict").innerText);
          }
        }
        return tried;
      }, sliders);
      assert.ok(steps.every((s) => s.length > 5 && !s.includes("not in this file")), `lesson ${n}, task ${t}`);
    }
  }
  clean(page, address);
});

test("the file and the program say the same", async () => {
  const server = await serve();
  const hashes = [
    "#lesson=3&task=walk-fast&a=&b=swing-extension:80&votes=1&revealed=1",
    "#lesson=6&task=sit-down&a=person:100-kg&b=person:50-kg;catch-load:10&votes=1&revealed=1",
    "#lesson=7&task=ramp-down-8-deg&a=stance-yield:40&b=stance-yield:80&votes=1&revealed=1",
  ];
  try {
    for (const hash of hashes) {
      await saysTheSame(b, [address, server.url], hash);
    }
  } finally {
    server.stop();
  }
});

test("every lesson by its bare address, in the file", async () => {
  const server = await serve();
  try {
    await bareLessons(b, address, server.url);
  } finally {
    server.stop();
  }
});

test("accessible and narrow, before and after the reveal", async () => {
  for (const colorScheme of ["light", "dark"]) {
    const page = await open(b, address, { colorScheme, viewport: { width: 320, height: 640 } });
    await accessible(page, `guess, ${colorScheme}`);
    await fits(page, "guess");
    await guess(page);
    await page.waitForSelector("#lesson-found h3");
    await accessible(page, `revealed, ${colorScheme}`);
    await fits(page, "revealed");
    await page.context().close();
  }
});
