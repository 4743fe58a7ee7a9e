// Presenting: figure and type large enough for the back of a room; and the link that holds the state.

import assert from "node:assert/strict";
import { test } from "node:test";
import { accessible, clean, open, output, settle, started } from "./open.mjs";

const { server, b } = await started();
const LATE = "#task=walk-comfortable&all=speed_m_per_s:1.4&a=&b=swing-flexion:0";

/** Height of the figure, smallest type and what stands of the verdict. */
const sizes = (page) => page.evaluate(() => {
  const visible = [...document.querySelectorAll("body *")].filter((e) => e.checkVisibility()
    && [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.textContent.trim())
    && !e.closest(".visually-hidden, svg, select"));
  const smallest = visible.map((e) => [parseFloat(getComputedStyle(e).fontSize), e.textContent.trim().slice(0, 40)])
    .sort((x, y) => x[0] - y[0])[0];
  const svg = document.querySelector("svg.drawing");
  const scale = svg.getBoundingClientRect().height / svg.viewBox.baseVal.height;
  return {
    figure: svg.getBoundingClientRect().height / innerHeight,
    smallest,
    // what is written in the figure grows with it
    inFigure: Math.min(...[...svg.querySelectorAll("text")].filter((t) => t.checkVisibility()).map((t) => parseFloat(getComputedStyle(t).fontSize))) * scale,
    verdict: document.getElementById("verdict").innerText.split("\n").filter(Boolean),
    bottom: document.getElementById("worst").getBoundingClientRect().bottom,
    wide: document.documentElement.scrollWidth - document.documentElement.clientWidth,
  };
});

for (const [width, height] of [[1024, 768], [1440, 900], [1920, 1080]]) {
  test(`presenting at ${width} × ${height}: figure and type`, async () => {
    const page = await open(b, `${server.url}${LATE}&present=1`, { viewport: { width, height } });
    await settle(page);
    const found = await sizes(page);
    assert.ok(found.figure >= 0.6, `the figure has ${found.figure} of the height`);
    // capitals of 25 mm on a picture of 2 m: 0.7 of the size of the type
    const least = 0.025 / 0.7 / 2 * width;
    assert.ok(found.smallest[0] >= least, `${found.smallest}: ${least} px are needed`);
    assert.ok(found.inFigure >= 0.75 * least, `type in the figure: ${found.inFigure} px`);
    assert.ok(found.verdict.length <= 2, found.verdict.join(" | "));
    assert.ok(found.bottom <= height && found.wide <= 0, `${found.bottom} ${found.wide}`);
    assert.match(await page.locator("#caution").innerText(), /not a medical device/);
    await page.screenshot({ path: `${output}presenting-${width}.png` });
    if (width === 1440) await accessible(page);
    clean(page, server.url);
  });
}

test("presenting is turned on and off, and the link brings everything back", async () => {
  const page = await open(b, server.url + LATE);
  await page.context().grantPermissions(["clipboard-read", "clipboard-write"]);
  await page.locator("#present").click();
  assert.ok(await page.evaluate(() => document.documentElement.classList.contains("presenting")));
  await page.locator("#present").click();
  assert.ok(!(await page.evaluate(() => document.documentElement.classList.contains("presenting"))));
  await page.locator("#more-keep summary").click();
  await page.locator("#link").click();
  await page.waitForFunction(() => document.getElementById("link").textContent === "Copied");
  const link = await page.evaluate(() => navigator.clipboard.readText());
  assert.ok(link.startsWith(server.url) && link.includes("b=swing-flexion:0") && link.includes("open=keep"), link);
  const again = await open(b, link);
  await settle(again);
  assert.match(await again.locator("#verdict").innerText(), /straight only just before/);
});
