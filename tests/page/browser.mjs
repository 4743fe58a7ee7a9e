// The page in a real browser, against the running program. Screenshots go to target/page/.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { accessible, clean, drawn, fits, guess, moved, open, output, settle, started, verdict } from "./open.mjs";

const { server, b } = await started();

const LATE = "The knee is straight only just before the foot lands, or after it.";
const OPEN_FAST = "#task=walk-comfortable&all=speed_m_per_s:1.4&a=swing-flexion:60&b=swing-flexion:0";
const EVERYTHING = `${OPEN_FAST}&open=settings,measured,curves,numbers,keep`;

test("the first screen: one figure, one question, two sliders, no errors, nothing from elsewhere", async () => {
  const page = await open(b, server.url);
  assert.equal(await page.locator("svg.drawing").count(), 1);
  assert.match(await page.locator("h1").innerText(), /\?$/);
  assert.equal(await page.locator("#sliders input").count(), 2);
  assert.equal(await page.locator("details[open]:visible").count(), 0);
  assert.match(await verdict(page), /limit/);
  assert.match(await page.locator("#caution").innerText(), /not a medical device/);
  // everything on the first screen of a projector
  const low = await page.locator("#verdict").evaluate((e) => e.getBoundingClientRect().bottom);
  assert.ok(low <= 900, `the verdict ends at ${low} px`);
  clean(page, server.url);
});

test("swing flexion opened at fast walking: the knee is late", async () => {
  const page = await open(b, server.url);
  assert.ok(!(await verdict(page)).includes(LATE));
  await page.getByLabel("Walking speed").first().focus();
  for (let i = 0; i < 6; i++) await page.keyboard.press("ArrowRight");
  await page.getByLabel("swing-flexion").first().focus();
  await page.keyboard.press("Home");
  await page.waitForFunction((late) => document.getElementById("verdict").innerText.includes(late), LATE);
});

test("swing extension closed at fast walking: the knee is bent at heel contact, the instant shown first", async () => {
  const page = await open(b, `${server.url}#task=walk-fast&b=swing-extension:100`);
  await settle(page);
  const heel = await page.locator("#instant").innerText();
  const [, a, bent] = heel.match(/A (-?\d+)°, B (-?\d+)°/);
  assert.ok(Number(bent) > Number(a) + 5, heel);
});

test("everything by keyboard", async () => {
  const page = await open(b, server.url);
  const seen = new Set();
  for (let i = 0; i < 40; i++) {
    await page.keyboard.press("Tab");
    const now = await page.evaluate(() => {
      const e = document.activeElement;
      const ring = getComputedStyle(e);
      return { name: e.id || e.textContent.trim(), ring: ring.outlineStyle !== "none" && parseFloat(ring.outlineWidth) >= 2, body: e === document.body };
    });
    if (now.body) break;
    assert.ok(now.ring, `${now.name} shows no focus`);
    seen.add(now.name);
  }
  for (const name of ["go-lessons", "play", "scrub", "quarter", "turn-speed_m_per_s", "turn-swing-flexion", "reset"]) {
    assert.ok(seen.has(name), `${name} is not reached: ${[...seen].join(", ")}`);
  }
  await page.locator("#play").focus();
  await page.keyboard.press("Space");
  assert.equal(await page.locator("#play").innerText(), "Pause");
  await page.waitForTimeout(300);
  await page.keyboard.press("Space");
  assert.equal(await page.locator("#play").innerText(), "Play");
  await page.locator("#scrub").focus();
  await page.keyboard.press("Home");
  assert.match(await page.locator("#instant").innerText(), /^0\.00 s/);
  await page.locator("#more-settings summary").focus();
  await page.keyboard.press("Enter");
  await page.locator("#leg-b-catch-load").focus();
  await page.keyboard.press("End");
  await page.waitForFunction(() => document.querySelector('output[for="leg-b-catch-load"]').textContent === "100 %");
  await page.locator("#task").focus();
  await page.keyboard.type("Sitting");
  await page.waitForFunction(() => document.querySelector("h1").textContent.includes("chair"));
  clean(page, server.url);
});

test("the address holds the state, and Reset takes all of it back", async () => {
  const page = await open(b, server.url);
  await settle(page);
  const first = { address: page.url(), verdict: await verdict(page), heading: await page.locator("h1").innerText() };
  await page.goto(`${server.url}#task=sit-down&all=person:100-kg;temperature_c:5&a=stance-yield:40&b=stance-yield:10;catch-load:35&side=1&open=curves,numbers`);
  await page.waitForFunction(() => document.querySelector("h1").textContent.includes("chair"));
  await settle(page);
  const told = { address: page.url(), verdict: await verdict(page), instant: await page.locator("#instant").innerText() };
  const again = await open(b, told.address);
  await settle(again);
  assert.deepEqual({ address: again.url(), verdict: await verdict(again), instant: await again.locator("#instant").innerText() }, told);
  assert.equal(await again.locator("#more-curves").getAttribute("open"), "");
  assert.equal(await again.locator("#side").getAttribute("aria-pressed"), "true");
  await again.locator("#more-settings summary").click();
  await again.locator("#knock").click();
  await again.locator("#quarter").click();
  await again.locator("#reset").click();
  await again.waitForFunction(() => document.querySelector("h1").textContent.includes("How fast"));
  await settle(again);
  assert.deepEqual({ address: again.url(), verdict: await verdict(again), heading: await again.locator("h1").innerText() }, first);
  for (const id of ["knock", "quarter", "side", "hide"]) assert.equal(await again.locator(`#${id}`).getAttribute("aria-pressed"), "false", id);
  assert.equal(await again.locator("details[open]:visible").count(), 0);
  clean(again, server.url);
});

test("an address that is nonsense does no harm", async () => {
  const page = await open(b, server.url);
  await page.goto(`${server.url}#task=%3Cscript%3E&all=%E0%A4%A&b=swing-flexion:999&open=x&lesson=77`);
  await page.waitForFunction(() => document.getElementById("verdict").innerText.includes("outside the allowed range"));
  assert.equal(await page.locator("#verdict script").count(), 0);
  // the refusal is an answer of 422, which the console names
  assert.ok(page.problems.every((p) => p.includes("422")), page.problems.join());
  await page.locator("#reset").click();
  await page.waitForFunction(() => document.getElementById("verdict").innerText.includes("limit"));
});

test("rules of accessibility: A and AA, in light and dark, everything open", async () => {
  for (const colorScheme of ["light", "dark"]) {
    for (const [what, hash] of [["first", ""], ["everything", EVERYTHING], ["guess", "#lesson=1"], ["hidden", `${EVERYTHING}&hidden=1`]]) {
      const page = await open(b, server.url + hash, { colorScheme });
      await settle(page);
      await accessible(page, `${what}, ${colorScheme}`);
      await page.context().close();
    }
  }
});

test("320 px wide, and a lesson on it", async () => {
  for (const hash of ["", EVERYTHING, "#lesson=8"]) {
    const page = await open(b, server.url + hash, { viewport: { width: 320, height: 640 } });
    await settle(page);
    await fits(page, hash);
    if (hash.includes("lesson")) {
      await guess(page);
      await page.waitForSelector("#lesson-found h3");
      await fits(page, "revealed");
      await accessible(page, "revealed, 320 px");
    }
  }
});

test("motion begins by itself only where it is welcome", async () => {
  const still = await open(b, server.url);
  assert.equal(await still.locator("#play").innerText(), "Play");
  const moving = await open(b, server.url, { reducedMotion: "no-preference" });
  assert.equal(await moving.locator("#play").innerText(), "Pause");
  // once, then it rests
  await moving.waitForFunction(() => document.getElementById("play").textContent === "Play", null, { timeout: 8000 });
});

test("a dozen pages opened at once all work", async () => {
  const pages = await Promise.all(Array.from({ length: 12 }, () => open(b, server.url)));
  for (const page of pages) {
    assert.match(await verdict(page), /limit/);
    clean(page, server.url);
  }
});

test("play, quarter speed, drag in a plot", async () => {
  const page = await open(b, `${server.url}${OPEN_FAST}&open=curves`);
  await page.waitForSelector(".plot canvas");
  const time = async () => Number((await page.locator("#instant").innerText()).split(" ")[0]);
  const line = () => page.locator(".now").first().evaluate((e) => parseFloat(e.style.left));
  await settle(page);
  assert.ok(await line() > 100, "the line stands at heel contact");
  const played = async () => {
    await page.locator("#scrub").focus();
    await page.keyboard.press("Home");
    await page.locator("#play").click();
    await page.waitForTimeout(800);
    await page.locator("#play").click();
    return time();
  };
  const normal = await played();
  await page.locator("#quarter").click();
  const slow = await played();
  assert.ok(slow < 0.5 * normal && slow > 0.05, `${slow} s against ${normal} s`);
  const plot = page.locator(".plot .u-over").first();
  const box = await plot.boundingBox();
  await plot.click({ position: { x: box.width / 2, y: 20 } });
  const middle = await time();
  const now = await line();
  assert.ok(Math.abs(now - box.width / 2) < 3, `${now} of ${box.width}`);
  assert.ok(middle > 0.3 && middle < 1.2, `${middle} s`);
});

test("guess, then reveal: settings and verdict hidden on request", async () => {
  const page = await open(b, `${server.url}${OPEN_FAST}&open=settings,numbers`);
  await page.locator("#hide").click();
  await settle(page);
  assert.ok(!(await verdict(page)).includes(LATE));
  assert.equal(await page.locator("#sliders").isVisible(), false);
  assert.equal(await page.locator("#leg-b").isVisible(), false);
  assert.equal(await page.locator("#numbers table").count(), 0);
  await page.locator("#hide").click();
  await settle(page);
  assert.ok((await verdict(page)).includes(LATE));
});

test("a lesson: guess, vote, reveal, next", async () => {
  const page = await open(b, server.url);
  await page.locator("#go-lessons").click();
  await page.waitForFunction(() => document.querySelector("h1").textContent.startsWith("1."));
  assert.equal(await page.locator("#verdict").innerText(), "");
  assert.equal(await page.locator("#lesson-found").isVisible(), false);
  const reveal = page.getByRole("button", { name: "Reveal" });
  assert.ok(await reveal.isDisabled(), "a guess is required");
  const late = page.getByRole("button", { name: /straight too late/ });
  await late.click();
  await late.click();
  await page.getByRole("button", { name: /It holds/ }).click();
  assert.match(await late.innerText(), /2$/);
  await reveal.click();
  await page.waitForSelector("#lesson-found .judged");
  const found = await page.locator("#lesson-found").innerText();
  assert.match(found, /2 of 3 guessed: .*straight too late ✓/);
  assert.match(found, /1 of 3 guessed: It holds.*✗/);
  for (const said of ["Why", "What a prosthetist would consider", "Common practice"]) assert.ok(found.includes(said), said);
  await page.locator("#grid-0").focus();
  await page.keyboard.press("End");
  await page.waitForFunction(() => document.querySelector('output[for="grid-0"]').textContent === "100 %");
  await page.getByRole("button", { name: /^Next/ }).click();
  await page.waitForFunction(() => document.querySelector("h1").textContent.startsWith("2."));
  clean(page, server.url);
});

test("curves as CSV and SVG", async () => {
  const page = await open(b, `${server.url}${OPEN_FAST}&open=keep`);
  const saved = async (id) => {
    const [download] = await Promise.all([page.waitForEvent("download"), page.locator(id).click()]);
    return readFileSync(await download.path(), "utf8");
  };
  const rows = (await saved("#save-csv")).trim().split("\n");
  const head = rows[0].split('","').length;
  assert.ok(rows.length === 301 && head >= 10, `${rows.length} rows, ${head} columns`);
  assert.match(rows[0], /^"t_s","stride_pct","/);
  assert.ok(rows.slice(1).every((r) => r.split(",").length === head));
  const svg = await saved("#save-svg");
  const polylines = await page.evaluate((text) => {
    const parsed = new DOMParser().parseFromString(text, "image/svg+xml");
    return parsed.querySelector("parsererror") ? -1 : parsed.querySelectorAll("polyline").length;
  }, svg);
  assert.ok(polylines >= 8, `${polylines} curves`);
});

test("print: one readable sheet with inputs and caution, no buttons", async () => {
  const page = await open(b, `${server.url}${OPEN_FAST}&open=curves,numbers`, { colorScheme: "dark" });
  await page.waitForSelector(".plot canvas");
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  await settle(page);
  assert.equal(await page.locator("button:visible").count(), 0);
  for (const id of ["#caution", "#printed", "#verdict", "svg.drawing"]) assert.ok(await page.locator(id).isVisible(), id);
  assert.match(await page.locator("#printed").innerText(), /75 kg.*swing-flexion 0 %/s);
  assert.equal(await page.evaluate(() => getComputedStyle(document.body).backgroundColor), "rgb(255, 255, 255)");
  const pdf = await page.pdf({ path: `${output}print.pdf`, format: "A4" });
  assert.ok(pdf.length > 10_000);
  await page.screenshot({ path: `${output}print.png`, fullPage: true });
});

test("the knock: off at first, as loud as the energy", async () => {
  const page = await open(b, `${server.url}#task=walk-fast&b=swing-extension:30&open=settings`);
  const heard = [];
  await page.exposeFunction("told", (loud) => heard.push(loud));
  await page.evaluate(() => window.addEventListener("kneedamp:knock", (e) => window.told(e.detail.loud)));
  const once = async () => {
    await page.locator("#scrub").focus();
    await page.keyboard.press("Home");
    await page.locator("#play").click();
    await page.waitForTimeout(1300);
    await page.locator("#play").click();
  };
  await once();
  assert.deepEqual(heard, []);
  await page.locator("#knock").click();
  await once();
  await page.locator("#leg-b-swing-extension").focus();
  for (let i = 0; i < 30; i++) await page.keyboard.press("ArrowRight");
  await settle(page);
  await once();
  assert.equal(heard.length, 2, heard.join());
  assert.ok(heard[0] > 1.2 * heard[1], heard.join());
});

test("the teaching sheet of leg B opens from the page, not while it is to be guessed", async () => {
  const page = await open(b, `${server.url}${OPEN_FAST}&open=keep`);
  await settle(page);
  const link = page.locator("#sheet");
  assert.ok(await link.isVisible());
  const [sheet] = await Promise.all([page.context().waitForEvent("page"), link.click()]);
  await sheet.waitForLoadState();
  assert.match(await sheet.locator("h1").innerText(), /Teaching sheet, model person/);
  assert.match(await sheet.locator(".who").innerText(), /swing-flexion 0 %/);
  // its style has not been refused
  assert.equal(await sheet.locator(".caution").evaluate((e) => getComputedStyle(e).borderTopStyle), "solid");
  clean(page, server.url);
  const lesson = await open(b, `${server.url}#lesson=6`);
  assert.equal(await lesson.locator("#sheet").isVisible(), false);
});

// measured and printed, not judged: a timing is no test, the machine may be busy
test("slider move to drawn", async () => {
  for (const [what, hash] of [["figure", ""], ["figure and four plots", `${OPEN_FAST}&open=curves`]]) {
    const page = await open(b, server.url + hash);
    await settle(page);
    const times = await moved(page);
    const at = (share) => times[Math.ceil(share * times.length) - 1];
    const within = at(0.95) <= 16 ? "within" : "beyond";
    console.log(`slider move to drawn, ${what}: median ${at(0.5).toFixed(1)} ms, p95 ${at(0.95).toFixed(1)} ms of ${times.length} moves, ${within} one frame of 16 ms`);
    assert.ok(times.length === 200 && times.every((t) => t > 0));
    await page.context().close();
  }
});

test("of moves that come while one is answered only the newest is asked", async () => {
  const page = await open(b, server.url);
  await settle(page);
  page.asked.length = 0;
  await page.evaluate(() => {
    const slider = document.getElementById("turn-swing-flexion");
    for (let i = 0; i <= 100; i++) {
      slider.value = i;
      slider.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });
  await settle(page);
  assert.ok(page.asked.length <= 2, `${page.asked.length} questions for 101 moves`);
  assert.equal(await page.locator('output[for="turn-swing-flexion"]').innerText(), "100 %");
});

test("pictures at three sizes", async () => {
  for (const [width, height] of [[320, 640], [768, 1024], [1440, 900]]) {
    for (const colorScheme of ["light", "dark"]) {
      const page = await open(b, server.url + OPEN_FAST, { viewport: { width, height }, colorScheme });
      await drawn(page);
      await page.screenshot({ path: `${output}page-${width}-${colorScheme}.png` });
      await page.context().close();
    }
  }
});
