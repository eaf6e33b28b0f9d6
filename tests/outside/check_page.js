// Works a kit's check.html in headless Chromium as a person does, for test_web.py: reads {browser, profile, url,
// downloads, offline, script, slower, width, scheme, shots, batches: [{files, photographs, scanner, readings, begin, meanwhile,
// stop_s, stop_after}]} as JSON and answers with what the page showed, saved and asked of the network, how long it took, and
// with `axe` what axe finds at the end. `begin` and `meanwhile` are scripts: before a batch, and as soon as it is measured.
const fs = require("fs");
const path = require("path");
const { arrived, faults, run, shoot, slowed, wait } = require("./chromium.js");

// The longest time for which the page stood still while it was at work, in s.
const watch = () => {
  window.said = [];
  new MutationObserver(() => window.said.push(document.getElementById("now").textContent))
    .observe(document.getElementById("now"), { childList: true, characterData: true, subtree: true });
  const seen = { last: performance.now(), gap: 0, text: "" };
  setInterval(() => {
    const text = document.getElementById("now").textContent + document.getElementById("bar").value, now = performance.now();
    const idle = document.getElementById("doing").hidden;
    if (!idle && text === seen.text) seen.gap = Math.max(seen.gap, now - seen.last);
    if (idle || text !== seen.text) seen.last = now;
    seen.text = text;
    window.gap_s = seen.gap / 1000;
  }, 50);
};

async function saved(page, folder, button, name) {
  const file = path.join(folder, name);
  fs.rmSync(file, { force: true });
  await page.evaluate((id) => document.getElementById(id).click(), button);
  await arrived(file);
  return fs.readFileSync(file, "utf8");
}

async function measure(page, task, batch, answer) {
  if (batch.begin) await page.evaluate(batch.begin);
  await (await page.$("#pictures")).uploadFile(...batch.files);
  if (!batch.photographs) await page.select("#scanner", String(batch.scanner ?? 0));
  for (const one of batch.photographs ?? []) await (await page.$("#camera")).uploadFile(one);
  answer.taken = await page.evaluate(() => document.getElementById("taken").textContent);
  if (batch.readings) await page.$eval("#ruler", (one) => { one.open = true; });
  for (const [marks, text] of Object.entries(batch.readings ?? {})) await page.type(`#${marks}`, text);
  const start = Date.now();
  await page.click("#measure");
  if (batch.meanwhile) await page.evaluate(batch.meanwhile);
  answer.focus = [await page.evaluate(() => document.activeElement.id)];
  if (batch.stop_s) {
    await wait(batch.stop_s * 1000);
    await page.click("#stop");
  }
  if (batch.stop_after) { // so many results
    await page.waitForFunction((n) => document.querySelectorAll("#results li").length >= n, { timeout: 0 },
                               batch.stop_after);
    await page.click("#stop");
  }
  await page.waitForFunction(() => document.body.getAttribute("aria-busy") === "false", { timeout: 0, polling: 50 });
  answer.seconds.push((Date.now() - start) / 1000);
  answer.focus.push(await page.evaluate(() => document.activeElement.id));
  answer.end.push(await page.evaluate(() => document.getElementById("now").textContent));
  answer.papers = await page.evaluate(() => document.getElementById("papers").textContent);
  answer.totals.push(await page.evaluate(() => ["total", "others", "whole"].map((id) =>
    document.getElementById(id)).map((one) => one.checkVisibility() ? one.innerText : "")));
  answer.memory = Number(await page.evaluate(() => document.body.dataset.memory ?? 0));
}

async function work(page, task, answer) {
  answer.seconds = [];
  answer.totals = []; // after each batch: the total, and what to do
  answer.end = [];    // what was said last
  await page.evaluate(watch);
  await shoot(page, task, "empty");
  if (task.offline) await page.setOfflineMode(true);
  const end = task.slower ? slowed(page.browser(), task.slower) : () => 1;
  for (const batch of task.batches) await measure(page, task, batch, answer);
  answer.slower = await end();
  answer.now = await page.evaluate(() => document.getElementById("now").textContent);
  answer.said = await page.evaluate(() => window.said);
  answer.older = await page.evaluate(() => document.getElementById("older").checkVisibility());
  answer.gap_s = await page.evaluate(() => window.gap_s ?? 0);
  answer.results = await page.evaluate(() => [...document.querySelectorAll("#results li")].map((item) =>
    ({ kind: item.querySelector(".said").className.replace("said ", ""), words: item.innerText })));
  answer.has_report = await page.evaluate(() => !document.getElementById("done").hidden);
  if (answer.has_report) {
    answer.html = await saved(page, task.downloads, "save-page", "report.html");
    answer.json = await saved(page, task.downloads, "save-json", "report.json");
    const codes = await page.evaluate(() => !document.getElementById("save-codes").hidden);
    answer.hint = await page.evaluate(() => document.getElementById("codes").checkVisibility());
    answer.codes = codes ? await saved(page, task.downloads, "save-codes", "codes.txt") : "";
    answer.frame = await page.evaluate(() => document.getElementById("report").srcdoc);
    answer.within = await page.evaluate(async () => {
      const inner = document.getElementById("report").contentDocument, before = inner.URL;
      inner.querySelector("a[href^='#']").click();
      await new Promise((done) => setTimeout(done, 300));
      return document.getElementById("report").contentDocument?.URL === before;
    });
    answer.frame_height = await page.evaluate(() => document.getElementById("report").offsetHeight);
  }
  if (task.axe) answer.axe = await faults(page);
  await wait(task.shots ? 500 : 0);
  await shoot(page, task, "done");
}

run(work);
