// What the page shows, saves and keeps in the states it can be in: paces, lessons by address, legs that cannot run,
// errors, things hidden; and how they are drawn.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { bareLessons, clean, guess, open, output, settle, started, verdict } from "./open.mjs";

const { server, b } = await started();

const at = (hash, options) => open(b, server.url + hash, options);
const out = (page, id) => page.locator(`output[for="${id}"]`).innerText();
const saved = async (page, id) => {
  const [download] = await Promise.all([page.waitForEvent("download"), page.locator(id).click()]);
  return { name: download.suggestedFilename(), text: readFileSync(await download.path(), "utf8") };
};

test("a pace by factor keeps it: no speed slider, and the speed that acts is each leg's own", async () => {
  const page = await at("#task=walk-hurried&all=&a=swing-flexion:60&b=swing-flexion:60&open=settings,keep");
  await settle(page);
  assert.equal(await page.locator('[id$="speed_m_per_s"]:visible').count(), 0);
  assert.equal(await page.locator("#sliders input").count(), 2);
  const own = await page.locator("#pace").innerText();
  await page.locator("#turn-swing-flexion").focus();
  await page.keyboard.press("ArrowRight");
  await settle(page);
  assert.equal(await page.locator("#pace").innerText(), own);
  assert.doesNotMatch(page.url(), /speed/);
  await page.locator("#all-person").selectOption("50-kg");
  await settle(page);
  assert.match(await page.locator("#pace").innerText(), /0\.95 m\/s/);
  assert.notEqual(await page.locator("#pace").innerText(), own);
  const two = await at("#task=walk-hurried&all=&a=person:100-kg&b=person:50-kg");
  assert.match(await two.locator("#pace").innerText(), /A 1\.\d\d m\/s, B 0\.95 m\/s/);
  // one set in the address can be taken back
  const set = await at("#task=walk-hurried&all=speed_m_per_s:1&a=&b=swing-flexion:60&open=settings");
  await set.getByRole("button", { name: "Take speed_m_per_s back" }).click();
  await settle(set);
  assert.doesNotMatch(set.url(), /speed/);
  // where there is a slider it shows the speed that acts
  const slow = await at("#task=walk-slow&all=person:50-kg&a=&b=");
  const speed = (await slow.locator("#pace").innerText()).match(/[\d.]+(?= m)/)[0];
  assert.equal(Number((await out(slow, "turn-speed_m_per_s")).split(" ")[0]), Number(speed));
  clean(slow, server.url);
});

test("a lesson by its bare address: A is its first variant, B the one voted on", async () => {
  await bareLessons(b, server.url, server.url);
});

test("a lesson has one title, before and after the reveal", async () => {
  const page = await at("");
  const lessons = await page.evaluate(async () => (await (await fetch("start.json")).json()).lessons);
  for (const lesson of lessons) {
    const one = await at(`#lesson=${lesson.number}`);
    assert.equal(await one.locator("h1").innerText(), `${lesson.number}. ${lesson.title}`);
    await guess(one);
    assert.equal(await one.locator("h1").innerText(), `${lesson.number}. ${lesson.title}`);
    await one.context().close();
  }
});

test("the reveal shows the numbers that answer the question", async () => {
  const page = await at("#lesson=2");
  await guess(page);
  const energies = await page.locator("#lesson-found tr", { hasText: "energy at full extension" }).locator("td").allInnerTexts();
  // task, A, B, C, limit
  assert.equal(energies.length, 5);
  assert.match(energies[4], /at most/);
  const [first, ...closed] = energies.slice(1, 4).map((e) => Number(e.split(" ")[0]));
  assert.ok(closed.every((e) => e > 2 * first), energies.join());
  assert.equal(await page.locator("#lesson-found .card-c").count(), 1);
  const eight = await at("#lesson=8&votes=1&revealed=1");
  await eight.waitForSelector("#lesson-found h3");
  assert.equal(await eight.locator("#lesson-found table").count(), 1);
  assert.equal(await eight.locator("#lesson-found tr", { hasText: "full extension, from" }).locator("td").count(), 6);
  const five = await at("#lesson=5&votes=1&revealed=1");
  await five.waitForSelector("#lesson-found h3");
  assert.equal(await five.locator("#lesson-found tr", { hasText: "peak flexion" }).locator("td").count(), 5);
});

test("Back leads to the lesson before", async () => {
  const page = await at("#lesson=1");
  await settle(page);
  await page.locator("#lesson-list button").nth(2).click();
  await settle(page);
  await page.locator("#lesson-list button").nth(5).click();
  await settle(page);
  await page.goBack();
  await page.waitForFunction(() => document.querySelector("h1").textContent.startsWith("3."));
  await settle(page);
  await page.goBack();
  await page.waitForFunction(() => document.querySelector("h1").textContent.startsWith("1."));
  await settle(page);
  await page.goForward();
  await page.waitForFunction(() => document.querySelector("h1").textContent.startsWith("3."));
  clean(page, server.url);
});

test("a sheet is offered only where it would be of what is shown", async () => {
  const page = await at("#task=sit-down&all=&a=&b=sitting_share:0.6&open=keep");
  await settle(page);
  assert.equal(await page.locator("#sheet").isVisible(), false);
  assert.match(await page.locator("#sheet-note").innerText(), /no teaching sheet with share of the weight on the prosthesis/);
  const paced = await at("#open=keep");
  await settle(paced);
  assert.match(await paced.locator("#sheet-note").innerText(), /speeds of its own/);
  assert.doesNotMatch(await paced.locator("#sheet").getAttribute("href"), /speed/);
});

test("a leg that cannot run keeps its settings and inputs, and is not drawn", async () => {
  const page = await at("#task=walk-comfortable&all=&a=&b=speed_m_per_s:3,swing-flexion:30&open=settings,keep".replace(",swing", ";swing"));
  await settle(page);
  assert.match(await verdict(page), /cannot be run/);
  assert.equal(await out(page, "leg-b-swing-flexion"), "30 %");
  assert.notEqual(await out(page, "leg-b-catch-load"), "0 %");
  assert.equal(await out(page, "leg-b-catch-load"), await out(page, "leg-a-catch-load"));
  assert.equal(await page.locator(".leg-b .letter").isVisible(), false);
  assert.match(await page.locator("#printed").textContent(), /B: Person 75-kg.*swing-flexion 30 %/);
  // neither of them
  const none = await at("#task=walk-comfortable&all=&a=&b=swing-flexion:60&open=keep,curves");
  await none.waitForSelector(".plot canvas");
  await none.goto(`${server.url}#task=walk-comfortable&all=speed_m_per_s:3&a=&b=swing-flexion:60&open=keep,curves`);
  await none.waitForFunction(() => document.getElementById("verdict").innerText.includes("cannot be run"));
  assert.equal(await none.locator(".leg line:visible").count(), 0);
  assert.equal(await none.locator(".plot").count(), 0);
  assert.ok(await none.locator("#save-csv").isDisabled());
});

test("after an error nothing of the state before can be saved or printed", async () => {
  const page = await at("#task=walk-fast&a=&b=swing-flexion:20&open=keep");
  await settle(page);
  assert.equal((await saved(page, "#save-csv")).name, "kneedamp-walk-fast.csv");
  assert.match(await page.locator("#command").innerText(), /--scenario walk-fast --a "" --b "swing-flexion=20"/);
  await page.goto(`${server.url}#task=walk-slow&a=&b=swing-flexion:150&open=keep`);
  await page.waitForFunction(() => document.getElementById("verdict").innerText.includes("outside the allowed range"));
  for (const id of ["#save-csv", "#save-svg"]) assert.ok(await page.locator(id).isDisabled(), id);
  for (const id of ["#printed", "#command", "#pace"]) assert.equal(await page.locator(id).textContent(), "", id);
  await page.goto(`${server.url}#task=walk-slow&a=&b=swing-flexion:15&open=keep`);
  await page.waitForFunction(() => document.getElementById("verdict").innerText.includes("limit"));
  assert.equal((await saved(page, "#save-svg")).name, "kneedamp-walk-slow.svg");
});

test("hidden settings stand neither in the address nor in what is saved, and come back", async () => {
  const page = await at("#task=walk-fast&all=&a=swing-flexion:60&b=swing-flexion:7&open=settings,keep");
  await page.locator("#hide").click();
  await settle(page);
  assert.doesNotMatch(page.url(), /b=|:7/);
  const { text } = await saved(page, "#save-svg");
  assert.match(text, /are hidden/);
  assert.doesNotMatch(text, /swing-flexion \d/);
  await page.reload();
  await settle(page);
  await page.locator("#hide").click();
  await settle(page);
  assert.match(page.url(), /b=swing-flexion:7&/);
});

test("a lesson that is not revealed prints nothing of what was explored before", async () => {
  const page = await at("#task=walk-fast&all=&a=&b=swing-flexion:20&open=keep");
  await settle(page);
  assert.match(await page.locator("#printed").textContent(), /swing-flexion 20 %/);
  await page.locator("#go-lessons").click();
  await settle(page);
  assert.equal(await page.locator("#printed").textContent(), "");
  assert.equal(await page.locator("#command").textContent(), "");
  await page.goto(`${server.url}#lesson=2&votes=1&revealed=1`);
  await page.waitForSelector("#lesson-found h3");
  await page.emulateMedia({ media: "print" });
  assert.equal(await page.locator('input[type="radio"]:visible').count(), 0);
});

test("standing has sliders that do something", async () => {
  const page = await at("#task=stand&all=&a=&b=&open=numbers");
  await settle(page);
  const one = await page.locator("#numbers").innerText();
  await page.locator("#turn-foot_shift_m").focus();
  await page.keyboard.press("End");
  await settle(page);
  const two = await page.locator("#numbers").innerText();
  assert.notEqual(two, one);
  assert.match(page.url(), /b=foot_shift_m:0\.04/);
  await page.locator("#turn-stand_slope_deg").focus();
  await page.keyboard.press("End");
  await settle(page);
  assert.notEqual(await page.locator("#numbers").innerText(), two);
  // A stands on level ground, B on a slope: both grounds are there
  assert.notEqual(await page.locator(".ground-a").getAttribute("d"), "");
  clean(page, server.url);
});

test("the saved picture: light, all text inside and apart, numbers on the axes, whose inputs", async () => {
  const dark = "#task=walk-comfortable&all=speed_m_per_s:1.4&a=swing-flexion:60&b=swing-flexion:0&open=keep";
  const page = await at(dark, { colorScheme: "dark" });
  await settle(page);
  const { text } = await saved(page, "#save-svg");
  const other = await b.newPage({ viewport: { width: 780, height: 1400 } });
  await other.setContent(`<body style="margin:0">${text}`);
  const found = await other.evaluate(() => {
    const svg = document.querySelector("svg");
    const frame = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll("text")].map((t) => ({ said: t.textContent, box: t.getBoundingClientRect() }));
    const apart = (p, q) => p.right <= q.left + 0.5 || q.right <= p.left + 0.5 || p.bottom <= q.top + 4 || q.bottom <= p.top + 4;
    return {
      outside: texts.filter(({ box }) => box.left < frame.left || box.right > frame.right || box.bottom > frame.bottom).map((t) => t.said),
      over: texts.flatMap((p, i) => texts.slice(i + 1).filter((q) => !apart(p.box, q.box)).map((q) => `${p.said} / ${q.said}`)),
      said: texts.map((t) => t.said),
      paper: svg.querySelector("rect").getAttribute("fill"),
    };
  });
  await other.screenshot({ path: `${output}saved.png`, fullPage: true });
  await other.close();
  assert.deepEqual(found.outside, []);
  assert.deepEqual(found.over, []);
  assert.equal(found.paper, "#fdfdfb");
  assert.ok(["20", "100", "120"].every((n) => found.said.filter((s) => s === n).length >= 4), found.said.join(" | "));
  assert.equal(found.said.filter((s) => s === "0").length, 8, "0 on both axes of four panels");
  assert.match(found.said.join(" "), /B: Person 75-kg .*swing-flexion 0 %/);
  const { text: rows } = await saved(page, "#save-csv");
  const head = rows.split("\n")[0];
  assert.match(head, /"b_damper_n_m"/);
});

test("saved and printed: the task in words, the lesson's title, the walking speed; the stance valve only where it moves", async () => {
  const page = await at("#task=walk-fast&all=&a=&b=swing-flexion:20&open=keep");
  await settle(page);
  const { text } = await saved(page, "#save-svg");
  assert.match(text, />Fast level walking</);
  assert.match(text, />Walking speed: 1\.40 m\/s\.</);
  assert.match(text, /Stance valve \(0 open, 1 closed\)/);
  assert.match(await page.locator("#printed").textContent(), /Fast level walking\. Walking speed: 1\.40 m\/s\./);
  assert.doesNotMatch(text, /Task walk-fast/);
  const chair = await at("#task=sit-down&all=&a=&b=stance-yield:20&open=keep");
  await settle(chair);
  const sat = (await saved(chair, "#save-svg")).text;
  assert.match(sat, />Ground load \(share of body weight\); stance valve stays closed</);
  assert.doesNotMatch(sat, /Stance valve \(0 open|Walking speed/);
  const lesson = await at("#lesson=5&votes=1&revealed=1&open=keep");
  await lesson.waitForSelector("#lesson-found h3");
  assert.match((await saved(lesson, "#save-svg")).text, /Lesson 5: The catch load, one step at a time/);
});

test("the figure: no foot in the floor unless it drags, heads on, no bench through a leg", async () => {
  const lowest = async (hash) => {
    const page = await at(hash);
    const found = await page.evaluate(async () => {
      const scrub = document.getElementById("scrub");
      const floor = Number(document.querySelector(".ground:not(.ground-a)").getAttribute("d").match(/M\S+ ([\d.]+)/)[1]);
      let [worst, dragged] = [0, false];
      for (let i = 0; i <= 1000; i += 5) {
        scrub.value = i;
        scrub.dispatchEvent(new Event("input", { bubbles: true }));
        for (const leg of document.querySelectorAll(".leg:not(.absent)")) {
          const said = leg.querySelector(".gap-text");
          if (/^toe (may drag|drags)/.test(said.textContent) && said.getAttribute("visibility") === "visible") {
            dragged = true;
            continue;
          }
          for (const foot of leg.querySelectorAll(".foot, .sound polygon")) {
            for (const p of foot.getAttribute("points").split(" ")) worst = Math.max(worst, Number(p.split(",")[1]) - floor);
          }
        }
      }
      return { worst, dragged };
    });
    await page.context().close();
    return found;
  };
  for (const [hash, drags] of [["#task=walk-comfortable&all=&a=swing-flexion:60&b=swing-flexion:100", true], ["#task=walk-slow&all=&a=&b=catch-load:0", true], ["#task=walk-fast&all=person:50-kg&a=&b=", false]]) {
    const { worst, dragged } = await lowest(hash);
    console.log(`${hash}: lowest foot that does not drag ${(worst / 0.272).toFixed(1)} mm in the floor`);
    // one unit of the drawing is 3.7 mm; the sole is drawn as chords of its arc
    assert.ok(worst <= 0.8, `${hash}: ${worst} units under the floor`);
    assert.equal(dragged, drags, hash);
  }
  const ramp = await at("#task=ramp-down-8-deg&all=&a=&b=stance-yield:0&side=1");
  const head = await ramp.evaluate(() => {
    const [svg, a] = ["svg.drawing", ".leg-a .head"].map((s) => document.querySelector(s).getBoundingClientRect());
    return a.top - svg.top;
  });
  assert.ok(head >= 0, `${head} px over the picture`);
  const chair = await at("#task=sit-down&all=&a=&b=stance-yield:0&side=1");
  const benches = await chair.locator(".seat").getAttribute("d");
  assert.equal(benches.split("M").length - 1, 6, "two chairs of seat, back and leg");
  const clear = await chair.evaluate(() => {
    const bench = document.querySelector(".seat").getAttribute("d").split("M").slice(-3).join(" ").match(/[\d.]+ [\d.]+/g).map((p) => Number(p.split(" ")[0]));
    const shank = document.querySelector(".leg-a .bone");
    return Math.min(...bench) - Math.max(...["x1", "x2"].map((n) => Number(shank.getAttribute(n))));
  });
  assert.ok(clear > 0, `B's bench begins ${clear} units behind A's shank`);
  const same = await at("#task=walk-comfortable&all=&a=swing-flexion:60&b=swing-flexion:60");
  assert.match(await same.locator("#instant").innerText(), /knee bent -?\d+°$/);
});

test("the figure tells the toe's height that the outcome has", async () => {
  const page = await at("#task=walk-comfortable&all=&a=&b=&open=numbers");
  const row = page.locator("#numbers tr", { hasText: "least height of the toe over the ground" });
  const outcome = Number((await row.locator("td").last().innerText()).replace("−", "-").match(/-?[\d.]+/)[0]);
  const drawn = await page.evaluate(() => {
    const scrub = document.getElementById("scrub");
    const heights = [];
    for (let i = 0; i <= 1000; i += 5) {
      scrub.value = i;
      scrub.dispatchEvent(new Event("input", { bubbles: true }));
      const [, pct] = document.getElementById("instant").textContent.match(/(\d+) % of the stride/) ?? [];
      const said = document.querySelector(".leg-b .gap-text").textContent.match(/toe (-?\d+) mm/);
      if (said && Number(pct) > 70 && Number(pct) < 95) heights.push(Number(said[1]));
    }
    return Math.min(...heights);
  });
  console.log(`least height of the toe: drawn ${drawn} mm, outcome ${outcome} mm`);
  assert.ok(Math.abs(drawn - outcome) <= 1, `${drawn} mm drawn, ${outcome} mm computed`);
});

test("the film rests at the worst limit and names it; it loops while a slider moves", async () => {
  const page = await at("#task=walk-fast&all=&a=&b=swing-flexion:0");
  const worst = await page.locator("#worst").innerText();
  assert.match(worst, /^B: .*limit/);
  const finding = await page.locator(".card-b li").first().innerText();
  assert.ok(finding.toLowerCase().startsWith(worst.slice(3, worst.indexOf(" (")).toLowerCase()), `${worst} against ${finding}`);
  await page.locator("#scrub").focus();
  await page.keyboard.press("Home");
  assert.equal(await page.locator("#worst").innerText(), "");
  const moving = await open(b, `${server.url}#task=walk-fast&all=&a=&b=`, { reducedMotion: "no-preference" });
  await moving.waitForFunction(() => document.getElementById("play").textContent === "Play", null, { timeout: 8000 });
  await moving.locator("#turn-swing-flexion").focus();
  await moving.keyboard.press("ArrowLeft");
  assert.equal(await moving.locator("#play").innerText(), "Pause");
  await moving.waitForFunction(() => document.getElementById("play").textContent === "Play" && document.getElementById("worst").textContent, null, { timeout: 8000 });
});
