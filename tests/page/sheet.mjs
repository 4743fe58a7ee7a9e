// The teaching sheet, opened from disk: printed on two pages of A4 and of Letter, nothing asked for, accessible.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { accessible, browser, output, program } from "./open.mjs";

// among them people whose answers and symptoms are long
const cases = [
  [],
  ["--set", "swing-flexion=65", "--was", "swing-flexion=70"],
  ["--set", "swing-flexion=60,stance-yield=20", "--was", "swing-flexion=80,stance-yield=40"],
  ["--person", "50-kg", "--set", "swing-flexion=0,swing-extension=90,catch-load=100"],
  ["--person", "100-kg", "--knee", "constant-friction"],
  ["--person", "50-kg", "--set", "stance-yield=0,swing-flexion=100,swing-extension=0,catch-load=60"],
  ["--person", "50-kg", "--set", "swing-flexion=0,swing-extension=90,catch-load=100", "--was", "swing-flexion=50,swing-extension=50,catch-load=20,stance-yield=60"],
];
let b;

before(async () => { b = await browser(); });
after(async () => b?.close());

test("two pages of A4 and of Letter, whoever it is about", async () => {
  for (const [i, args] of cases.entries()) {
    const path = `${output}sheet-${i}.html`;
    execFileSync(program, ["sheet", "--output", path, ...args], { stdio: "pipe" });
    const page = await b.newPage();
    for (const format of ["A4", "Letter"]) {
      await page.goto(pathToFileURL(path).href);
      const pdf = await page.pdf({ format, path: `${output}sheet-${i}-${format}.pdf` });
      const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g)?.length;
      assert.equal(pages, 2, `${args.join(" ")} on ${format}`);
      // as printed, drawings included
      await page.emulateMedia({ media: "print" });
      await page.setViewportSize(format === "A4" ? { width: 711, height: 1047 } : { width: 733, height: 980 });
      const small = await page.evaluate(() => {
        const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        const found = [];
        for (let node = texts.nextNode(); node; node = texts.nextNode()) {
          const parent = node.parentElement;
          if (!node.textContent.trim() || parent.closest("title")) continue;
          const scale = parent.getScreenCTM ? parent.getScreenCTM().a : 1;
          const pt = 0.75 * scale * parseFloat(getComputedStyle(parent).fontSize);
          if (pt < 8.49) found.push(`${pt.toFixed(2)} pt: ${node.textContent.trim().slice(0, 40)}`);
        }
        return found;
      });
      assert.deepEqual(small, [], `${args.join(" ")} on ${format}`);
    }
    await page.close();
  }
});

test("asks for nothing, says nothing in the console, accessible, narrow", async () => {
  const address = pathToFileURL(`${output}sheet-0.html`).href;
  // the sheet's own policy forbids the checker's script
  const context = await b.newContext({ viewport: { width: 390, height: 800 }, bypassCSP: true });
  const page = await context.newPage();
  const asked = [];
  const problems = [];
  page.on("request", (r) => asked.push(r.url()));
  page.on("console", (m) => problems.push(m.text()));
  await page.goto(address);
  assert.deepEqual(asked, [address]);
  assert.deepEqual(problems, []);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wide <= 0, `${wide} px too wide`);
  await accessible(page, "sheet");
});
