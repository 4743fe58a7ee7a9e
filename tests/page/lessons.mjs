// Lessons that test: an answer has to be chosen, what is told depends on it, and C and D appear as themselves.

import assert from "node:assert/strict";
import { test } from "node:test";
import { clean, guess, open, settle, started } from "./open.mjs";

const { server, b } = await started();
const lessons = (await (await fetch(`${server.url}start.json`)).json()).lessons;

test("each lesson asks its own question with three or four answers of its own", async () => {
  assert.equal(new Set(lessons.map((l) => l.question)).size, lessons.length);
  const page = await open(b, `${server.url}#lesson=1`);
  for (const lesson of lessons) {
    await page.locator("#lesson-list button").nth(lesson.number - 1).click();
    assert.deepEqual(await page.locator(".vote").allInnerTexts(), lesson.answers);
    assert.ok([3, 4].includes(lesson.answers.length));
    assert.ok((await page.locator("#lesson-brief").innerText()).includes(lesson.question));
    assert.ok(await page.locator(".reveal").isDisabled());
    // nothing of the second leg is told beforehand
    assert.equal(await page.locator("#dials").isVisible(), false);
    assert.equal(await page.locator("#verdict").innerText(), "");
  }
  clean(page, server.url);
});

test("what is told answers the guess that was chosen", async () => {
  for (const lesson of lessons) {
    const told = [];
    for (let i = 0; i < lesson.answers.length; i++) {
      const page = await open(b, `${server.url}#lesson=${lesson.number}`);
      await guess(page, i);
      const blocks = await page.locator(".judged").allInnerTexts();
      const right = await page.locator(".judged.right").count();
      assert.ok(blocks[0].includes(lesson.answers[i]), blocks[0]);
      assert.equal(right, 1);
      // who guessed wrong is told both: why not, and what is so
      assert.equal(blocks.length, blocks[0].includes("✓") ? 1 : 2, blocks.join(" | "));
      told.push(blocks[0]);
      await page.context().close();
    }
    assert.equal(new Set(told.map((t) => t.split("\n").slice(1).join())).size, lesson.answers.length, `lesson ${lesson.number}`);
    assert.equal(told.filter((t) => t.includes("✓")).length, 1, `lesson ${lesson.number}`);
  }
});

test("an address cannot reveal without a guess, and keeps the votes", async () => {
  const page = await open(b, `${server.url}#lesson=4&revealed=1`);
  assert.equal(await page.locator("#lesson-found").isVisible(), false);
  await page.locator(".vote").nth(1).click();
  await page.locator(".vote").nth(1).click();
  await page.locator(".vote").nth(0).click();
  await page.locator(".reveal").click();
  await page.waitForSelector(".judged");
  await settle(page);
  assert.match(page.url(), /votes=1\.2\.0\.0/);
  const again = await open(b, page.url());
  await again.waitForSelector(".judged");
  assert.match(await again.locator("#lesson-found").innerText(), /2 of 3 guessed/);
  await again.getByRole("button", { name: "Guess again" }).click();
  assert.ok(await again.locator(".reveal").isDisabled());
  clean(again, server.url);
});

test("C and D appear as themselves, with their colour, in figure, verdict, curves and print", async () => {
  const page = await open(b, `${server.url}#lesson=8&votes=1&revealed=1&open=curves,numbers`);
  const colour = () => page.locator(".leg-b .bone").evaluate((e) => getComputedStyle(e).stroke);
  const seen = new Set();
  for (const [i, letter] of [[1, "B"], [2, "C"], [3, "D"]]) {
    await page.locator(`#lesson-variant-${i}`).check();
    await settle(page);
    assert.equal(await page.locator(".leg-b .letter").textContent(), letter);
    assert.equal(await page.locator(`#verdict .card-${letter.toLowerCase()} .tag`).innerText().then((t) => t.trim()), letter);
    assert.match(await page.locator("#instant").innerText(), new RegExp(`A -?\\d+°, ${letter} `));
    assert.match(await page.locator("#curves .legend").first().innerText(), new RegExp(`A\\s+${letter}`));
    assert.equal(await page.locator("#numbers thead th").nth(3).innerText(), letter);
    assert.match(await page.locator("#printed").textContent(), new RegExp(`${letter}: Person`));
    seen.add(await colour());
  }
  assert.equal(seen.size, 3);
  // moved off the variant it is no longer that variant
  await page.locator("#grid-0").focus();
  await page.keyboard.press("ArrowRight");
  await settle(page);
  assert.equal(await page.locator(".leg-b .letter").textContent(), "D′");
  clean(page, server.url);
});
