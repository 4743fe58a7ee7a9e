// Challenges: nothing moves before the test, trials and unsafe trials are counted, the end is compared with `adjust`.

import assert from "node:assert/strict";
import { test } from "node:test";
import { accessible, clean, fits, open, output, settle, started } from "./open.mjs";

const { server, b } = await started();
const { challenges } = await (await fetch(`${server.url}start.json`)).json();
const score = (page) => page.locator("#score").innerText();

/** A challenge by its address; nothing is drawn before the first trial. */
async function challenge(number, more = "", options = {}) {
  const page = await open(b, server.url, options);
  await page.goto(`${server.url}#challenge=${number}${more}`);
  await page.waitForFunction((n) => document.querySelector("h1").textContent.startsWith(`Challenge ${n}`), number);
  return page;
}

async function tested(page, place = 0) {
  const before = await score(page);
  await page.locator(".reveal").nth(place).click();
  await page.waitForFunction((was) => document.getElementById("score").innerText !== was, before);
  await settle(page);
}

const put = (page, key, value) => page.locator(`#challenge-${key}`).fill(String(value));

test("four challenges at least, each with goals", async () => {
  assert.ok(challenges.length >= 4);
  for (const c of challenges) assert.ok(c.goals.length && c.turns.length && c.scenarios.length, c.title);
});

test("the figure does not move before a test; trials and unsafe trials are counted", async () => {
  const page = await challenge(2);
  assert.equal(await page.locator(".leg:visible").count(), 0);
  assert.equal(await page.locator("#verdict").innerText(), "");
  assert.match(await score(page), /Trials: 0, unsafe: 0/);
  page.asked.length = 0;
  await put(page, "stance-yield", 8);
  await settle(page);
  assert.deepEqual(page.asked, [], "nothing is computed while settings are turned");
  await tested(page);
  assert.match(await score(page), /Trials: 1, unsafe: 1/);
  assert.match(await page.locator("#verdict").innerText(), /drops into the chair/);
  const drawn = await page.locator(".leg-b .bone").getAttribute("x1");
  const said = await page.locator("#verdict").innerText();
  await put(page, "stance-yield", 40);
  await settle(page);
  assert.equal(await page.locator(".leg-b .bone").getAttribute("x1"), drawn);
  assert.equal(await page.locator("#verdict").innerText(), said);
  await tested(page);
  assert.match(await score(page), /Trials: 2, unsafe: 1/);
  // the same trial does not count again
  await page.locator(".reveal").nth(0).click();
  await settle(page);
  assert.match(await score(page), /Trials: 2, unsafe: 1/);
  assert.equal(await page.locator("#comparison").innerText(), "");
  await tested(page, 1);
  await tested(page, 2);
  assert.match(await page.locator("#lesson-found").innerText(), /Every goal is met, after 4 trials, 1 of them unsafe/);
  await page.waitForFunction(() => document.getElementById("comparison").innerText.includes("rules of adjust"));
  const found = await (await fetch(`${server.url}result`, {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ of: "challenge", number: 2 }),
  })).json();
  const told = await page.locator("#comparison").innerText();
  assert.ok(told.includes(`${found.trials} trials, ${found.unsafe} of them unsafe`), told);
  assert.equal(told.includes("They meet every goal"), found.won);
  await page.screenshot({ path: `${output}challenge.png`, fullPage: true });
  clean(page, server.url);
});

test("a setting that meets the goals in one task only has not won", async () => {
  const page = await challenge(2, "&b=stance-yield:60");
  await tested(page, 1);
  assert.match(await page.locator("#lesson-found table").innerText(), /Within every limit/);
  assert.doesNotMatch(await page.locator("#lesson-found").innerText(), /Every goal is met/);
  // who gives up is compared as well
  await page.getByRole("button", { name: "Compare" }).click();
  await page.waitForFunction(() => document.getElementById("comparison").innerText.includes("Without the goals met, after 1 trials"));
});

test("the address holds the challenge and its draft, Reset and Begin again take it back", async () => {
  const page = await challenge(3, "&b=catch-load:12;stance-yield:40;person:100-kg");
  await settle(page);
  assert.equal(await page.locator("#challenge-catch-load").inputValue(), "12");
  assert.match(page.url(), /challenge=3/);
  assert.match(page.url(), /person:50-kg/, "the person is that of the challenge");
  await page.getByRole("button", { name: "Begin again" }).click();
  assert.equal(await page.locator("#challenge-catch-load").inputValue(), "35");
  await page.locator("#reset").click();
  await settle(page);
  assert.match(await page.locator("h1").innerText(), /How fast/);
  clean(page, server.url);
});

test("accessible and narrow, before and after a trial", async () => {
  for (const colorScheme of ["light", "dark"]) {
    const page = await challenge(4, "", { colorScheme, viewport: { width: 320, height: 640 } });
    await accessible(page, `before, ${colorScheme}`);
    await fits(page, "before");
    await tested(page);
    await accessible(page, `after, ${colorScheme}`);
    await fits(page, "after");
    await page.context().close();
  }
});
