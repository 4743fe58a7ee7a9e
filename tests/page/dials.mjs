// Handles on the leg: dials by mouse, touch, keys and typing; the foot scrubs; on a phone figure and verdict stay in view.

import assert from "node:assert/strict";
import { test } from "node:test";
import { accessible, clean, open, output, settle, started } from "./open.mjs";

const { server, b } = await started();
const EXPLORE = "#task=walk-fast&all=&a=swing-flexion:50&b=swing-flexion:50";
const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true };

const value = (page, key = "swing-flexion") => page.locator(`#dial-${key}`).getAttribute("aria-valuenow").then(Number);
const time = async (page) => Number((await page.locator("#instant").innerText()).split(" ")[0]);

/** Points on a circle about the middle of a dial, from one angle to another, degrees clockwise from the top. */
async function around(page, key, from, to) {
  const box = await page.locator(`#dial-${key}`).boundingBox();
  const at = (deg) => ({
    x: box.x + box.width / 2 + 0.4 * box.width * Math.sin((deg * Math.PI) / 180),
    y: box.y + box.height / 2 - 0.4 * box.height * Math.cos((deg * Math.PI) / 180),
  });
  return Array.from({ length: 13 }, (_, i) => at(from + ((to - from) * i) / 12));
}

/** A finger that goes along points. */
async function touch(page, points) {
  const session = await page.context().newCDPSession(page);
  const send = (type, p) => session.send("Input.dispatchTouchEvent", { type, touchPoints: p ? [{ x: p.x, y: p.y }] : [] });
  await send("touchStart", points[0]);
  for (const p of points.slice(1)) await send("touchMove", p);
  await send("touchEnd");
}

test("a dial is dragged with the mouse: slider, verdict and address go along", async () => {
  const page = await open(b, server.url + EXPLORE);
  await settle(page);
  const before = await page.locator("#verdict").innerText();
  const points = await around(page, "swing-flexion", 0, -135);
  await page.mouse.move(points[0].x, points[0].y);
  await page.mouse.down();
  for (const p of points) await page.mouse.move(p.x, p.y);
  await page.mouse.up();
  await settle(page);
  assert.ok(Math.abs((await value(page)) - 0) <= 1, `${await value(page)} %`);
  assert.equal(await page.locator('output[for="turn-swing-flexion"]').innerText(), `${await value(page)} %`);
  assert.match(page.url(), new RegExp(`b=swing-flexion:${await value(page)}(&|$)`));
  assert.notEqual(await page.locator("#verdict").innerText(), before);
  // past its end it stays there, and does not jump round
  const more = await around(page, "swing-flexion", -135, -220);
  await page.mouse.move(more[0].x, more[0].y);
  await page.mouse.down();
  for (const p of more) await page.mouse.move(p.x, p.y);
  await page.mouse.up();
  assert.equal(await value(page), 0);
  clean(page, server.url);
});

test("a dial is dragged with a finger, and the page does not scroll", async () => {
  const page = await open(b, server.url + EXPLORE, PHONE);
  await settle(page);
  const scrolled = await page.evaluate(() => scrollY);
  await touch(page, await around(page, "swing-extension", 0, 108));
  await settle(page);
  const own = 52.9;
  assert.ok(Math.abs((await value(page, "swing-extension")) - own - 40) <= 2, `${await value(page, "swing-extension")} %`);
  assert.equal(await page.evaluate(() => scrollY), scrolled);
  assert.match(page.url(), /swing-extension:9\d/);
  clean(page, server.url);
});

test("a dial by keys and by typing", async () => {
  const page = await open(b, server.url + EXPLORE);
  await settle(page);
  const dial = page.locator("#dial-swing-flexion");
  await dial.focus();
  assert.equal(await dial.getAttribute("role"), "slider");
  for (const key of ["ArrowRight", "ArrowUp", "ArrowLeft", "PageUp"]) await page.keyboard.press(key);
  assert.equal(await value(page), 61);
  await page.keyboard.press("End");
  assert.equal(await value(page), 100);
  await page.keyboard.type("37");
  assert.match(await dial.getAttribute("aria-valuetext"), /^37 % typed/);
  assert.equal(await value(page), 100, "nothing is set before Enter");
  await page.keyboard.press("Enter");
  assert.equal(await value(page), 37);
  assert.equal(await dial.getAttribute("aria-valuetext"), "37 %");
  await page.keyboard.type("9");
  await page.keyboard.press("Escape");
  await page.keyboard.press("Enter");
  assert.equal(await value(page), 37);
  await page.keyboard.type("900");
  await page.keyboard.press("Enter");
  assert.equal(await value(page), 100);
  await settle(page);
  assert.match(page.url(), /b=swing-flexion:100/);
  assert.equal(await page.locator('output[for="turn-swing-flexion"]').innerText(), "100 %");
  // and the other way round
  await page.locator("#turn-swing-flexion").focus();
  await page.keyboard.press("Home");
  await settle(page);
  assert.equal(await value(page), 0);
  await accessible(page, "dials");
  clean(page, server.url);
});

test("in a lesson a dial goes by the lesson's steps, and other dials are fixed", async () => {
  const page = await open(b, `${server.url}#lesson=2&votes=1&revealed=1`);
  await settle(page);
  await page.locator("#dial-swing-flexion").focus();
  await page.keyboard.type("63");
  await page.keyboard.press("Enter");
  await settle(page);
  assert.equal(await value(page), 65);
  assert.equal(await page.locator('output[for="grid-0"]').innerText(), "65 %");
  assert.equal(await page.locator("#dial-catch-load").getAttribute("aria-disabled"), "true");
  const before = await value(page, "catch-load");
  await page.locator("#dial-catch-load").focus();
  await page.keyboard.press("End");
  assert.equal(await value(page, "catch-load"), before);
  clean(page, server.url);
});

test("dials are not there while settings are hidden, nor on paper", async () => {
  const page = await open(b, `${server.url}${EXPLORE}&hidden=1`);
  await settle(page);
  assert.equal(await page.locator("#dials").isVisible(), false);
  const shown = await open(b, server.url + EXPLORE);
  assert.equal(await shown.locator(".dial:visible").count(), 4);
  await shown.emulateMedia({ media: "print" });
  assert.equal(await shown.locator(".dial:visible").count(), 0);
});

test("dragging the foot scrubs time", async () => {
  for (const options of [{}, PHONE]) {
    const page = await open(b, server.url + EXPLORE, options);
    await settle(page);
    await page.locator("#scrub").fill("500");
    const middle = async () => {
      const box = await page.locator(".leg-b .grip").boundingBox();
      return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    };
    const [from, begun] = [await middle(), await time(page)];
    await page.locator("#scrub").fill("640");
    const [to, later] = [await middle(), await time(page)];
    await page.locator("#scrub").fill("500");
    const path = Array.from({ length: 21 }, (_, i) => ({ x: from.x + ((to.x - from.x) * i) / 20, y: from.y + ((to.y - from.y) * i) / 20 }));
    if (options.hasTouch) await touch(page, path);
    else {
      await page.mouse.move(from.x, from.y);
      await page.mouse.down();
      for (const p of path) await page.mouse.move(p.x, p.y);
      await page.mouse.up();
    }
    const now = await time(page);
    assert.ok(later > begun + 0.05, `${begun} to ${later} s`);
    assert.ok(Math.abs(now - later) <= 0.05, `${now} s, ${later} s wanted, begun at ${begun} s`);
    clean(page, server.url);
    await page.context().close();
  }
});

test("on a phone figure and verdict stay in view, within 45 % of the height, while sliders move", async () => {
  for (const [what, hash] of [["explore", `${EXPLORE}&open=settings`], ["lesson", "#lesson=3&votes=1&revealed=1"]]) {
    const page = await open(b, server.url + hash, PHONE);
    await settle(page);
    const last = page.locator(what === "lesson" ? "#grid-0" : "#leg-b-catch-load");
    await last.scrollIntoViewIfNeeded();
    await last.evaluate((e) => e.scrollIntoView({ block: "end" }));
    await settle(page);
    const seen = await page.evaluate(() => {
      const inside = (e) => {
        const r = e.getBoundingClientRect();
        return r.top >= -1 && r.bottom <= innerHeight && r.height > 0;
      };
      const watch = document.getElementById("watch").getBoundingClientRect();
      return {
        scrolled: scrollY, bottom: watch.bottom / innerHeight, figure: inside(document.querySelector("svg.drawing")),
        short: inside(document.getElementById("in-short")), said: document.getElementById("in-short").innerText,
      };
    });
    assert.ok(seen.scrolled > 200, `${what}: scrolled ${seen.scrolled} px`);
    assert.ok(seen.figure && seen.short && seen.bottom <= 0.45, `${what}: ${JSON.stringify(seen)}`);
    const box = await last.boundingBox();
    assert.ok(box.y >= seen.bottom * 844, `${what}: the slider is covered`);
    await last.focus();
    await page.keyboard.press("Home");
    await settle(page);
    const now = await page.locator("#in-short").innerText();
    assert.match(now, /limit/);
    if (what === "explore") assert.notEqual(now, seen.said, "the verdict in view follows the slider");
    await page.screenshot({ path: `${output}phone-${what}.png` });
    clean(page, server.url);
    await page.context().close();
  }
});
