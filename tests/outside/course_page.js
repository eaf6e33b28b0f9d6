// Works the page that draws courses in headless Chromium as a person does, for test_course.py: reads {browser, profile,
// url, downloads, script, offline, slower, width, scheme, shots, type, fault, lay, kit, axe} as JSON and answers with
// what the page showed, saved and asked of the network, and how long a drawing took to follow a key.
const path = require("path");
const { arrived, faults, run, shoot, slowed, wait } = require("./chromium.js");

const drawings = (page) => page.evaluate(() => Number(document.body.dataset.count ?? 0));

async function follows(page, count) {
  await page.waitForFunction((n) => Number(document.body.dataset.count ?? 0) > n, { timeout: 60000, polling: 10 }, count);
  return Number(await page.evaluate(() => document.body.dataset.drawn));
}

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
  await page.evaluate((text) => {
    const t = document.getElementById("text");
    t.value = text;
    t.dispatchEvent(new Event("input", { bubbles: true }));
  }, task.fault);
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

async function work(page, task, answer) {
  answer.drawn_ms = [];
  await follows(page, 0);
  if (task.offline) await page.setOfflineMode(true);
  const end = task.slower ? slowed(page.browser(), task.slower) : () => 1;
  await page.waitForFunction(() => !document.getElementById("whole").hidden && document.getElementById("review").textContent,
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
  }
  if (task.axe) answer.axe = await faults(page);
  if (task.fault) await fault(page, task, answer);
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
