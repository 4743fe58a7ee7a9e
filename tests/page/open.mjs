// What the browser tests share: the program on a free port, the browser, and checks of a page.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { existsSync, mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { after, afterEach } from "node:test";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const root = fileURLToPath(new URL("../../", import.meta.url));
const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Pictures and other output of the tests. */
export const output = `${root}target/page/`;
mkdirSync(output, { recursive: true });

/** The program: that of KNEEDAMP, else what was built last in release, else in debug. */
export const program = process.env.KNEEDAMP
  ?? [`${root}target/release/kneedamp`, `${root}target/debug/kneedamp`].find((p) => existsSync(p));

/** Runs `kneedamp serve` on a free port. */
export async function serve() {
  const child = spawn(program, ["serve", "--port", "0"], { stdio: ["ignore", "pipe", "ignore"] });
  const url = await new Promise((found, failed) => {
    child.stdout.once("data", (text) => found(String(text).trim()));
    child.once("exit", () => failed(new Error("kneedamp serve ended")));
  });
  return { url, stop: () => child.kill() };
}

export const browser = () => chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
});

/** The program and the browser for the tests of a file; what a test opened is closed after it. */
export async function started() {
  const [server, b] = [await serve(), await browser()];
  afterEach(async () => {
    for (const context of b.contexts()) await context.close();
  });
  after(async () => {
    await b.close();
    server.stop();
  });
  return { server, b };
}

/** Opens a page that fails the test on any error in its console and on any request that leaves its own address. */
export async function open(b, address, options = {}) {
  const context = await b.newContext({
    viewport: { width: 1440, height: 900 }, reducedMotion: "reduce", acceptDownloads: true, ...options,
  });
  const page = await context.newPage();
  page.problems = [];
  page.asked = [];
  page.on("console", (m) => {
    if (["error", "warning"].includes(m.type())) page.problems.push(m.text());
  });
  page.on("pageerror", (e) => page.problems.push(e.message));
  page.on("request", (r) => page.asked.push(r.url()));
  page.on("requestfailed", (r) => page.problems.push(`failed: ${r.url()}`));
  await page.goto(address);
  await drawn(page);
  return page;
}

/** Waits until something has been drawn. */
export async function drawn(page) {
  await page.waitForFunction(() => document.querySelector(".leg-b .bone")?.getAttribute("x1")
    || document.querySelector(".leg-a .bone")?.getAttribute("x1"));
  await page.waitForTimeout(60);
}

/** Nothing in the console, nothing from elsewhere. */
export function clean(page, address) {
  assert.deepEqual(page.problems, []);
  const elsewhere = page.asked.filter((u) => !u.startsWith(address.split("#")[0]) && !u.startsWith("data:") && !u.startsWith("blob:"));
  assert.deepEqual(elsewhere, []);
}

/** Accessibility rules of WCAG 2.2, A and AA. */
export async function accessible(page, what) {
  await page.evaluate(axeSource);
  const found = await page.evaluate(() => window.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
  }));
  const said = found.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.html).slice(0, 3).join(" ")}`);
  assert.deepEqual(said, [], what);
}

/** Nothing is wider than the screen, and everything that is pressed is at least 24 px high and wide. */
export async function fits(page, what) {
  const found = await page.evaluate(() => {
    const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
    const small = [...document.querySelectorAll("button, input, select, summary, a[href], [role=slider]")]
      .filter((e) => e.checkVisibility())
      .map((e) => [e.id || e.textContent.slice(0, 30), e.getBoundingClientRect()])
      .filter(([, r]) => r.width < 24 || r.height < 24)
      .map(([name, r]) => `${name} ${r.width}×${r.height}`);
    return { wide, small };
  });
  assert.ok(found.wide <= 0, `${what}: ${found.wide} px too wide`);
  assert.deepEqual(found.small, [], what);
}

/** Every lesson by its bare address, then revealed: what is voted on is shown next to the first variant; and B off the
    grid is taken back to it. `program` is where the lessons' data can be asked for. */
export async function bareLessons(b, address, program) {
  const data = await (await fetch(`${program}start.json`)).json();
  assert.equal(data.lessons.length, 8);
  for (const lesson of data.lessons) {
    for (const more of ["", "&b=swing-flexion:61.5", "&a=catch-load:3&b=nonsense:1"]) {
      const page = await open(b, `${address}#lesson=${lesson.number}${more}`);
      const what = `lesson ${lesson.number}${more}`;
      assert.equal(await page.locator("#verdict").innerText(), "", what);
      await guess(page);
      await page.waitForSelector("#lesson-found h3");
      await settle(page);
      await page.locator("#found-full > summary").click();
      assert.equal(await page.locator('input[name="lesson-variant"]:checked').getAttribute("value"), String(lesson.vote.variant), what);
      // a lesson's C and D appear as themselves
      const letter = "abcd"[lesson.vote.variant];
      assert.equal(await page.locator(".leg-b .letter").textContent(), letter.toUpperCase(), what);
      const shown = [await page.locator("#verdict .card-a").innerText(), await page.locator(`#verdict .card-${letter}`).innerText()];
      const place = lesson.scenarios.indexOf(lesson.vote.scenario);
      const cards = page.locator("#lesson-found .cards").nth(place).locator(".card");
      for (const [i, text] of [[0, shown[0]], [lesson.vote.variant, shown[1]]]) {
        const card = await cards.nth(i).locator("li").allInnerTexts();
        for (const line of card) assert.ok(text.includes(line), `${what}: ${line} is not in ${text}`);
        assert.equal((await cards.nth(i).innerText()).includes("Within every limit"), text.includes("Within every limit"), what);
      }
      assert.deepEqual(page.problems, [], what);
      await page.context().close();
    }
  }
}

/** Moves the slider through frames; times from the event to everything drawn, ms, ascending. */
export const moved = (page) => page.evaluate(async () => {
  const slider = document.getElementById("turn-swing-flexion");
  const frame = () => new Promise((r) => requestAnimationFrame(r));
  const all = [];
  for (let i = 0; i < 220; i++) {
    await frame();
    const drawn = new Promise((r) => window.addEventListener("kneedamp:drawn", r, { once: true }));
    const begun = performance.now();
    slider.value = (i * 7) % 101;
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    await drawn;
    all.push(performance.now() - begun);
  }
  return all.slice(20).sort((x, y) => x - y);
});

/** Chooses an answer, then reveals; what is said of the guess is there. */
export async function guess(page, answer = 0) {
  assert.ok(await page.locator(".reveal").isDisabled(), "revealed without a guess");
  await page.locator(".vote").nth(answer).click();
  await page.locator(".reveal").click();
  await page.waitForSelector("#lesson-found .judged");
}

export const verdict = (page) => page.locator("#verdict").innerText();

/** The CSP of a document forbids inline script, so a script of ours comes through the debugger only. */
export async function settle(page) {
  await page.waitForTimeout(400);
}

/** A lesson after its guess says the same at two addresses. */
export async function saysTheSame(b, addresses, hash) {
  const said = [];
  for (const from of addresses) {
    const page = await open(b, from + hash);
    await page.waitForSelector("#lesson-found h3");
    await settle(page);
    said.push([await verdict(page), await page.locator("#lesson-found").innerText()]);
    await page.context().close();
  }
  assert.deepEqual(said[0], said[1], hash);
}
