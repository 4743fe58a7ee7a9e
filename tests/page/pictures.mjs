// Makes the pictures of README: `npm run pictures` in this folder, after `cargo build --release`.

import { execFileSync } from "node:child_process";
import { pathToFileURL } from "node:url";
import { browser, drawn, open, output, program, serve, settle } from "./open.mjs";

const folder = new URL("../../docs/pictures/", import.meta.url).pathname;
const shots = [
  ["page", "#task=walk-comfortable&all=speed_m_per_s:1.4&b=swing-extension:100", 1240, 700],
  ["lesson", "#lesson=6", 1240, 860],
];
const server = await serve();
const b = await browser();
for (const [name, hash, width, height] of shots) {
  const page = await open(b, server.url + hash, { viewport: { width, height } });
  await drawn(page);
  // the moment in which both legs are far apart
  if (name === "lesson") await page.evaluate(() => document.getElementById("shelf").removeAttribute("open"));
  await settle(page);
  await page.screenshot({ path: `${folder}${name}.png` });
}
// the first page of the sheet, as on A4 at 96 dots per inch
const sheet = `${output}sheet.html`;
execFileSync(program, ["sheet", "--output", sheet], { stdio: "pipe" });
const paper = await (await b.newContext({ viewport: { width: 794, height: 900 } })).newPage();
await paper.goto(pathToFileURL(sheet).href);
await paper.screenshot({ path: `${folder}sheet.png` });
await b.close();
server.stop();
