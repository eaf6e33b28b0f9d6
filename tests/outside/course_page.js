// Works the page that draws courses in headless Chromium as a person does, for test_course.py: reads {browser, profile,
// url, downloads, script, offline, slower, width, scheme, shots, type, fault, lay, kit, axe, steps} as JSON and answers with
// what the page showed, saved and asked of the network, and how long a drawing took to follow a key.
const path = require("path");
const { arrived, faults, run, shoot, slowed, wait } = require("./chromium.js");

const drawings = (page) => page.evaluate(() => Number(document.body.dataset.count ?? 0));

async function follows(page, count) {
  await page.waitForFunction((n) => Number(document.body.dataset.count ?? 0) > n, { timeout: 60000, polling: 10 }, count);
  return Number(await page.evaluate(() => document.body.dataset.drawn));
}

const put = (text) => {
  const t = document.getElementById("text");
  t.value = text;
  t.dispatchEvent(new Event("input", { bubbles: true }));
};

// The paths that are drawn, as they stand in the document.
const shown = () => [...document.querySelectorAll("#mat path")].map((p) => p.getAttribute("d"));

const findings = () => [...document.querySelectorAll("#findings li")].map((item) => ({
  words: item.innerText, sign: item.querySelector(".v").getAttribute("class"),
}));

async function type(page, task, answer) {
  await page.focus("#text");
  await page.evaluate(() => { const t = document.getElementById("text"); t.setSelectionRange(t.value.length, t.value.length); });
  for (const key of task.type) {
    const count = await drawings(page);
    await page.keyboard.press(key);
    answer.drawn_ms.push(await follows(page, count));
    await wait(task.pause ?? 0);
  }
}

async function fault(page, task, answer) {
  const before = await page.evaluate(shown), count = await drawings(page);
  await page.evaluate(put, task.fault);
  await follows(page, count);
  await page.keyboard.press("F8");
  answer.fault = await page.evaluate(() => {
    const t = document.getElementById("text");
    return { at: t.value.slice(0, t.selectionStart).split("\n").length, word: t.value.slice(t.selectionStart, t.selectionEnd),
             marked: [...document.querySelectorAll("#marks mark")].map((m) => m.textContent),
             flagged: [...document.querySelectorAll("#numbers b")].map((b) => b.textContent),
             state: document.getElementById("held").textContent, verdict: document.getElementById("verdict").textContent };
  });
  answer.fault.findings = await page.evaluate(findings);
  answer.fault.kept = JSON.stringify(before) === JSON.stringify(await page.evaluate(shown));
  await shoot(page, task, "fault");
}

async function saved(page, task, selector) {
  const names = await page.evaluate((s) => [...document.querySelectorAll(`${s} a`)].map((a) => a.download), selector);
  for (const name of names) {
    await page.evaluate((s, n) => [...document.querySelectorAll(`${s} a`)].find((a) => a.download === n).click(), selector, name);
    await arrived(path.join(task.downloads, name));
  }
  return names;
}

async function fill(page, values) {
  await page.evaluate((all) => {
    for (const [id, value] of Object.entries(all)) {
      const one = document.getElementById(id);
      one.value = value;
      one.dispatchEvent(new Event("change", { bubbles: true }));
    }
  }, values);
}

async function press(page, button) {
  const start = Date.now();
  await page.click(button);
  await page.waitForFunction(() => document.body.getAttribute("aria-busy") === "false", { timeout: 600000, polling: 50 });
  return (Date.now() - start) / 1000;
}

// One thing after the other that a person does. The network stays as it is; what is answered is what then stands there.
const steps = {
  fill,
  press,
  click: (page, button) => page.click(button),
  key: async (page, key) => { await page.focus("#text"); await page.keyboard.press(key); },
  keys: (page, how) => page.evaluate((k) => document.dispatchEvent(new KeyboardEvent("keydown", k)), how),
  choose: async (page, field, file) => (await page.$(field)).uploadFile(file),
  text: (page, text) => page.evaluate(put, text),
  caret: (page, at) => page.evaluate((n) => { const t = document.getElementById("text"); t.focus(); t.setSelectionRange(n, n); }, at),
  wait: (page, ms) => wait(ms),
  // Until it says so, or nothing, or for as long as that should take.
  until: (page, id, words) => page.waitForFunction((i, w) => {
    const said = document.getElementById(i).textContent;
    return w === "" ? said === "" : said.startsWith(w);
  }, { timeout: 20000, polling: 50 }, id, words).catch(() => {}),
};

const stands = () => {
  const words = (id) => document.getElementById(id).textContent, t = document.getElementById("text");
  return { ...Object.fromEntries(["now", "kit-now", "state", "verdict", "told", "held", "findings", "refused"].map((id) => [id, words(id)])),
           places: document.querySelectorAll("#refused .place").length, cells: document.querySelectorAll(".over rect").length,
           laid: document.querySelectorAll("#laid a").length, kits: document.querySelectorAll("#kit-laid a").length,
           busy: document.body.getAttribute("aria-busy"), focus: document.activeElement.id, within: document.getElementById("doing").closest("form").id,
           file: document.getElementById("file").value, by_file: !document.getElementById("by-file").hidden,
           stale: document.getElementById("stage").classList.contains("stale"), text: t.value.length, line: t.value.slice(0, t.selectionStart).split("\n").length };
};

async function follow(page, task, answer) {
  answer.steps = [];
  page.on("dialog", (dialog) => dialog.accept());
  for (const [what, ...with_] of task.steps) {
    await steps[what](page, ...with_);
    answer.steps.push(await page.evaluate(stands));
  }
  await shoot(page, task, "end");
}

async function work(page, task, answer) {
  answer.drawn_ms = [];
  await follows(page, 0);
  if (task.offline) {
    await page.waitForNetworkIdle();
    await page.setOfflineMode(true);
  }
  const end = task.slower ? slowed(page.browser(), task.slower) : () => 1;
  await page.waitForFunction(() => document.getElementById("review").textContent || document.getElementById("verdict").className === "er",
                             { timeout: 120000 });
  answer.name = await page.evaluate(() => document.getElementById("name").textContent);
  answer.verdict = await page.evaluate(() => document.getElementById("verdict").textContent);
  answer.review = await page.evaluate(() => document.getElementById("review").textContent);
  answer.paths = await page.evaluate(shown);
  await shoot(page, task, "drawn");
  if (task.type) await type(page, task, answer);
  if (task.lay) {
    await fill(page, task.lay);
    answer.lay_s = await press(page, "#lay");
    answer.laid = await page.evaluate(() => document.getElementById("now").textContent);
    answer.refused = await page.evaluate(() => document.getElementById("refused").innerText);
    answer.cells = await page.evaluate(() => document.querySelectorAll(".over rect").length);
    answer.files = await saved(page, task, "#laid");
    await shoot(page, task, "laid");
  }
  if (task.kit) {
    await fill(page, task.kit);
    answer.kit_s = await press(page, "#make-kit");
    answer.made = await page.evaluate(() => document.getElementById("kit-now").textContent);
    answer.kits = await saved(page, task, "#kit-laid");
    await shoot(page, task, "kit");
  }
  if (task.axe) answer.axe = await faults(page);
  if (task.fault) await fault(page, task, answer);
  if (task.steps) await follow(page, task, answer);
  if (task.begin) {
    const count = await drawings(page);
    page.on("dialog", (dialog) => dialog.accept());
    await page.select("#beginning", task.begin);
    await follows(page, count);
    answer.begun = await page.evaluate(() => document.getElementById("name").textContent);
  }
  answer.slower = await end();
}

run(work);
