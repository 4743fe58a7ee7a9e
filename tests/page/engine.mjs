// The lesson file with the engine in it, opened from disk: the same figures as `run`, how soon they come, and what the
// file can do. Needs the engine (docs/teaching.md says how to build it): `npm run engine`.

import assert from "node:assert/strict";
import { spawnSync, execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { gunzipSync, gzipSync } from "node:zlib";
import { accessible, bareLessons, browser, clean, fits, moved, open, output, program, saysTheSame, serve, settle, verdict } from "./open.mjs";

const path = `${output}engine.html`;
const address = pathToFileURL(path).href;
/** Numbers of one seed: the same states in every run of the tests. */
const SEED = 20261126;
const STATES = 80;
let b;
let server;

/** The part of the file with this id. */
const part = (id, file = path) => readFileSync(file, "utf8").split(`id="${id}">`)[1].split("</script>")[0];
const start = () => JSON.parse(part("precomputed").replaceAll("<\\/", "</")).start;

before(async () => {
  const wrote = spawnSync(program, ["lesson", "--output", path], { encoding: "utf8" });
  assert.match(wrote.stderr, /with the engine$/m, wrote.stderr);
  console.log(wrote.stderr.trim());
  [b, server] = [await browser(), await serve()];
});

after(async () => {
  await b?.close();
  server?.stop();
});

/** Evenly spread numbers from 0 to 1 (mulberry32, public domain). */
function numbers(seed) {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** A scenario and what a leg changes in it: anything that `run` has an option for. */
function states(known, count) {
  const next = numbers(SEED);
  const one = (list) => list[Math.floor(next() * list.length)];
  return Array.from({ length: count }, (_, i) => {
    const scenario = known.scenarios[i % known.scenarios.length];
    const leg = {};
    for (const [key, list] of [["person", known.people], ["prosthesis", known.prostheses], ["knee", known.knees]]) {
      if (next() < 0.5) leg[key] = one(list).name;
    }
    for (const { key } of known.settings) if (next() < 0.6) leg[key] = String(Math.floor(next() * 101));
    if (next() < 0.3) leg.temperature_c = String(Math.round(next() * 40));
    if (scenario.kind === "walk" && next() < 0.3) leg.speed_m_per_s = (0.6 + next() * 0.9).toFixed(2);
    return { scenario, leg };
  });
}

/** What `run` finds in the same state; null if it cannot run. */
function ran({ scenario, leg }, known) {
  const settings = known.settings.filter(({ key }) => key in leg).map(({ key }) => `${key}=${leg[key]}`);
  const options = [["person", leg.person], ["prosthesis", leg.prosthesis], ["knee", leg.knee],
    ["temperature", leg.temperature_c], ["speed", leg.speed_m_per_s], ["set", settings.join(",") || undefined]];
  const given = options.filter(([, value]) => value !== undefined).flatMap(([name, value]) => [`--${name}`, value]);
  const { stdout } = spawnSync(program, ["run", scenario.name, ...given, "--format", "json"], { encoding: "utf8" });
  return stdout ? JSON.parse(stdout).runs[0].outcomes ?? null : null;
}

/** Whether what is shown is this value to the digits shown. `words` collects which sign a word behind a number has. */
function agrees(shown, value, words, key) {
  const found = /^(-?\d+(?:\.\d+)?)(?!\w)\s*(.*)$/.exec(shown);
  if (typeof value !== "number") return !found;
  // a value that rounds to nothing may have a word instead: "at heel contact"
  if (!found) return value.toFixed(0) === "0" || value.toFixed(0) === "-0";
  const [, digits, unit] = found;
  const decimals = digits.split(".")[1]?.length ?? 0;
  const said = `${key} ${unit}`;
  if (Number(digits) >= 0 && Number(digits) !== 0) {
    const sign = Math.sign(value);
    if ((words.get(said) ?? sign) !== sign) return false;
    words.set(said, sign);
  }
  const rounded = (digits.startsWith("-") ? value : Math.abs(value)).toFixed(decimals);
  return Number(rounded) === Number(digits);
}

test("the figures of `run`, to the digits shown, in states of every kind", async () => {
  const known = start();
  const page = await open(b, address, { offline: true });
  const [words, apart] = [new Map(), []];
  let [compared, states_, refused] = [0, 0, 0];
  for (const state of states(known, STATES)) {
    const said = Object.entries(state.leg).map(([k, v]) => `${k}:${v}`).join(";");
    const hash = `#task=${state.scenario.name}&all=&a=&b=${said}&open=numbers`;
    // drawn, or refused as a whole
    await page.evaluate((h) => new Promise((done) => {
      window.addEventListener("kneedamp:drawn", () => done(), { once: true });
      new MutationObserver((_, watch) => {
        if (!document.querySelector("#verdict .error")) return;
        watch.disconnect();
        done();
      }).observe(document.getElementById("verdict"), { childList: true });
      location.hash = h;
    }), hash);
    const rows = await page.locator("#numbers table").last().locator("tbody tr").all();
    const shown = await Promise.all(rows.map(async (row) => (await row.locator("td").last().innerText()).trim()));
    const outcomes = ran(state, known);
    assert.equal(shown.length, state.scenario.outcomes.length, hash);
    states_ += 1;
    if (!outcomes) {
      // both say why
      refused += 1;
      assert.match(await verdict(page), /cannot be run|could not be computed/, hash);
      continue;
    }
    state.scenario.outcomes.forEach(({ key }, i) => {
      assert.ok(key in outcomes, `${key} is not in the answer of run: ${hash}`);
      compared += 1;
      if (!agrees(shown[i], outcomes[key], words, key)) apart.push(`${hash}: ${key} ${shown[i]}, run ${outcomes[key]}`);
    });
  }
  console.log(`${states_} states (${refused} cannot run), ${compared} values compared with run, ${apart.length} differ in a digit shown`);
  assert.ok(states_ - refused >= 50 && compared > 500, `${states_ - refused} states, ${compared} values`);
  assert.deepEqual(apart, []);
  clean(page, address);
});

/** The engine of the file, asked without a page. */
async function engineOf(file) {
  const wasm = gunzipSync(Buffer.from(part("engine", file), "base64"));
  const { instance: { exports } } = await WebAssembly.instantiate(wasm, {});
  return (name, body) => {
    const question = new TextEncoder().encode(`${name}\n${body}`);
    const room = exports.room(question.length);
    new Uint8Array(exports.memory.buffer, room, question.length).set(question);
    const answer = exports.ask(room, question.length);
    const length = new DataView(exports.memory.buffer).getUint32(answer, true);
    const text = new TextDecoder().decode(new Uint8Array(exports.memory.buffer, answer + 4, length));
    exports.release(answer);
    return JSON.parse(text);
  };
}

/** Every number and text in a tree, with its place. */
function* leaves(tree, at = "") {
  if (tree === null || typeof tree !== "object") yield [at, tree];
  else for (const [key, value] of Object.entries(tree)) yield* leaves(value, `${at}.${key}`);
}

test("the engine and the program give the same answers", async () => {
  const ask = await engineOf(path);
  assert.deepEqual(ask("begin", "[]"), {});
  let [same, worst, where, texts] = [0, 0, "", 0];
  const all = states(start(), STATES);
  for (const { scenario, leg } of all) {
    const question = JSON.stringify({ scenario: scenario.name, legs: ["", Object.entries(leg).map((p) => p.join("=")).join(",")] });
    const response = await fetch(`${server.url}answer`, { method: "POST", headers: { "content-type": "application/json" }, body: question });
    const [own, served] = [ask("answer", question), await response.json()];
    const others = new Map(leaves(served));
    const found = [...leaves(own)];
    assert.equal(found.length, others.size, question);
    let equal = true;
    for (const [at, value] of found) {
      const other = others.get(at);
      if (value === other) continue;
      equal = false;
      // curves are numbers as text
      if (at.endsWith(".u16")) continue;
      if (typeof value !== "number" || typeof other !== "number") {
        texts += 1;
        console.log(`${question} ${at}: ${value} against ${other}`);
      } else if (Math.abs(value - other) / Math.max(1, Math.abs(other)) > worst) {
        [worst, where] = [Math.abs(value - other) / Math.max(1, Math.abs(other)), `${question} ${at}: ${value} against ${other}`];
      }
    }
    same += equal;
  }
  console.log(`${same} of ${all.length} answers are the same to the last bit; greatest difference ${worst.toExponential(1)} ${where}`);
  assert.equal(texts, 0, "words and verdicts are the same");
  // the program and WebAssembly take the same sines and exponentials (sim/numerics/math.rs)
  assert.equal(same, all.length, where);
  for (const of of ["lesson", "challenge"]) {
    const question = JSON.stringify({ of, number: 1 });
    const response = await fetch(`${server.url}result`, { method: "POST", headers: { "content-type": "application/json" }, body: question });
    assert.deepEqual(ask("result", question), await response.json(), question);
  }
  // what is refused is refused in the same words
  for (const [name, body] of [["answer", { scenario: "nobody", legs: [""] }], ["answer", { scenario: "stand", legs: ["swing-flexion=200"] }],
    ["curve", { scenario: "walk-fast", leg: "", table: "a,b\n1,2\n" }], ["answer", { nonsense: 1 }]]) {
    const response = await fetch(`${server.url}${name}`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
    const said = ask(name, JSON.stringify(body));
    assert.deepEqual(said, await response.json());
    assert.ok(said.error);
  }
  assert.match(ask("nonsense", "").error, /cannot be asked/);
});

test("it is small, opens from disk on a phone, asks for nothing and has everything but the sheet", async () => {
  const size = statSync(path).size;
  console.log(`the file: ${(size / 1e6).toFixed(2)} MB`);
  assert.ok(size <= 2_500_000, `${size} bytes`);
  const page = await open(b, address, { offline: true, viewport: { width: 390, height: 800 } });
  for (const id of ["#go-explore", "#go-lessons", "#go-challenges"]) assert.ok(await page.locator(id).isVisible(), id);
  assert.match(await page.locator("h1").innerText(), /\?$/);
  assert.match(await page.locator("#caution").innerText(), /not a medical device/);
  assert.equal(await page.locator("#beforehand").isVisible(), false);
  await page.locator("#more-keep summary").click();
  assert.equal(await page.locator("#sheet").isVisible(), false);
  assert.deepEqual(page.asked.filter((u) => u !== address && !/^(data|blob):/.test(u)), []);
  await accessible(page, "the file");
  await fits(page, "the file");
  clean(page, address);
  await page.screenshot({ path: `${output}engine-390.png` });
});

// measured and printed, not judged: a timing is no test, the machine may be busy
test("first picture, and slider move to drawn", async () => {
  const first = [];
  for (let i = 0; i < 7; i++) {
    const context = await b.newContext({ viewport: { width: 390, height: 800 } });
    const page = await context.newPage();
    await page.addInitScript(() => window.addEventListener("kneedamp:drawn", () => { window.firstDrawn ??= performance.now(); }));
    await page.goto(address);
    first.push(await (await page.waitForFunction(() => window.firstDrawn)).jsonValue());
    await context.close();
  }
  first.sort((x, y) => x - y);
  // the first picture does not wait for the engine, so it also comes where the engine cannot
  const bare = await (await b.newContext({ reducedMotion: "reduce" })).newPage();
  await bare.addInitScript(() => { WebAssembly.compile = () => Promise.reject(new Error("none")); });
  await bare.goto(address);
  await bare.locator(".leg-b .bone[x1]").first().waitFor();
  await bare.context().close();
  console.log(`first picture: median ${first[3].toFixed(0)} ms, worst ${first[6].toFixed(0)} ms of ${first.length} openings`);
  for (const hash of ["", "#task=walk-hurried&all=&a=swing-flexion:60&b=", "#task=walk-comfortable&all=speed_m_per_s:1.4&a=&b=&open=curves,numbers"]) {
    const page = await open(b, address + hash);
    await settle(page);
    const times = await moved(page);
    const at = (share) => times[Math.ceil(share * times.length) - 1].toFixed(1);
    console.log(`slider move to drawn ${hash}: median ${at(0.5)} ms, p95 ${at(0.95)} ms, worst ${at(1)} ms of ${times.length} moves`);
    assert.ok(times.length === 200 && times.every((t) => t > 0));
    await page.context().close();
  }
});

test("lessons and the measured curve, as in the program", async () => {
  await bareLessons(b, address, server.url);
  for (const hash of ["#lesson=3&task=walk-fast&a=&b=swing-extension:80&votes=1&revealed=1", "#lesson=6&task=sit-down&a=person:100-kg&b=person:50-kg;catch-load:10&votes=1&revealed=1"]) {
    await saysTheSame(b, [address, server.url], hash);
  }
  const asked = [];
  for (const from of [address, server.url]) {
    const page = await open(b, `${from}#task=walk-comfortable&all=speed_m_per_s:1.2&a=&b=&open=measured`);
    await page.locator("#measured-file").setInputFiles(new URL("../../docs/examples/walk.csv", import.meta.url).pathname);
    await page.waitForSelector("#measured-plot svg");
    asked.push(await page.locator("#measured-plot").innerHTML());
    // what takes thousands of runs is left to the program
    assert.equal(await page.locator("#measured-next").count(), from === address ? 0 : 1);
    await page.context().close();
  }
  assert.deepEqual(asked[0], asked[1]);
});

test("the engine answers in the language of its file", async () => {
  const german = `${output}motor.html`;
  execFileSync(program, ["lesson", "--lang", "de", "--output", german], { stdio: "pipe" });
  const hash = "#task=walk-fast&all=&a=&b=swing-extension:80&open=numbers";
  const said = [];
  for (const from of [pathToFileURL(german).href, `${server.url}?lang=de`]) {
    const page = await open(b, from + hash);
    await settle(page);
    said.push([await verdict(page), await page.locator("#numbers").innerText(), await page.locator("h1").innerText()]);
    clean(page, from.split("?")[0]);
    await page.context().close();
  }
  assert.deepEqual(said[0], said[1]);
  assert.match(said[0][0], /gestreckt/);
});

test("the address holds the state, and its link is copied", async () => {
  const page = await open(b, `${address}#task=sit-down&all=person:100-kg&a=stance-yield:40&b=stance-yield:10;catch-load:35&open=keep`);
  await settle(page);
  const told = await verdict(page);
  await page.locator("#link").click();
  await page.waitForFunction(() => document.getElementById("link").textContent !== "Copy the link");
  const link = await page.locator("#link-text").innerText();
  assert.equal(link, page.url());
  const again = await open(b, link);
  await settle(again);
  assert.equal(await verdict(again), told);
  assert.match(again.url(), /b=stance-yield:10;catch-load:35/);
  clean(again, address);
});

test("a page of a course may show the file in a frame; `serve` is shown in none", async () => {
  const frames = `<!doctype html><iframe id="file" src="file.html#task=sit-down&all=&a=&b=stance-yield:10" width="800" height="600"></iframe>
    <iframe id="closed" sandbox="allow-scripts" src="file.html#lesson=4" width="800" height="600"></iframe>
    <iframe id="served" src="${server.url}" width="800" height="600"></iframe>`;
  const course = createServer((request, response) => {
    response.setHeader("content-type", "text/html; charset=utf-8");
    response.end(request.url === "/file.html" ? readFileSync(path) : frames);
  });
  await new Promise((r) => course.listen(0, "127.0.0.1", r));
  try {
    const page = await (await b.newContext({ reducedMotion: "reduce" })).newPage();
    await page.goto(`http://127.0.0.1:${course.address().port}/`);
    for (const [id, said] of [["file", /chair/], ["closed", /^4\./]]) {
      const frame = page.frameLocator(`#${id}`);
      await frame.locator(".leg-a .bone[x1]").first().waitFor();
      assert.match(await frame.locator("h1").innerText(), said, id);
    }
    // the browser shows a page of its own in its place
    const served = await (await page.locator("#served").elementHandle()).contentFrame();
    assert.match(served.url(), /^chrome-error:/);
    assert.equal(await served.locator("#figure").count(), 0);
  } finally {
    course.close();
  }
});

test("a person of the user's own is in the file", async () => {
  const folder = `${output}own/`;
  mkdirSync(`${folder}people`, { recursive: true });
  const written = `${folder}people/own.yaml`;
  rmSync(written, { force: true });
  execFileSync(program, ["new", "person", written], { stdio: "pipe" });
  writeFileSync(written, readFileSync(written, "utf8").replace(/^name:.*$/m, "name: own").replace(/^mass_kg:.*$/m, "mass_kg: 91.5"));
  const own = `${output}own.html`;
  execFileSync(program, ["lesson", "--library", folder, "--output", own], { stdio: "pipe" });
  const page = await open(b, `${pathToFileURL(own).href}#task=sit-down&all=&a=&b=person:own&open=settings`);
  assert.match(await page.locator("#printed").textContent(), /B: Person own/);
  clean(page, pathToFileURL(own).href);
});

test("an engine that fails, and a browser that runs none, are said in words", async () => {
  // memory, room, release, and an ask that traps
  const trap = Buffer.from("0061736d0100000001100360017f017f60027f7f017f60017f000304030001020503010001072104066d656d6f7279020004726f6f6d00000361736b00010772656c6561736500020a0e0305004180080b0300000b02000b", "hex");
  const broken = `${output}broken.html`;
  writeFileSync(broken, readFileSync(path, "utf8").replace(part("engine"), gzipSync(trap).toString("base64")));
  const says = async (from, init) => {
    const page = await (await b.newContext({ reducedMotion: "reduce" })).newPage();
    if (init) await page.addInitScript(init);
    await page.goto(pathToFileURL(from).href);
    // the first picture is in the file
    await page.locator(".leg-b .bone[x1]").first().waitFor();
    await page.locator("#turn-swing-flexion").focus();
    await page.keyboard.press("ArrowRight");
    await page.waitForSelector("#verdict .error");
    const first = await verdict(page);
    // a second question is answered as well
    await page.keyboard.press("ArrowRight");
    await settle(page);
    assert.equal(await verdict(page), first);
    await page.context().close();
    return first;
  };
  assert.match(await says(broken), /could not be computed/);
  assert.match(await says(path, () => { delete window.DecompressionStream; }), /cannot run the engine/);
});
