// Works a kit's check.html in headless Chromium as a person does, for test_web.py: reads {browser, profile, url,
// downloads, offline, script, throttle, width, scheme, shots, batches: [{files, scanner, readings, stop_s, stop_after}]} as JSON
// and answers with what the page showed, saved and asked of the network, how long it took, and with `axe` what axe
// finds at the end.
const fs = require("fs");
const path = require("path");
const puppeteer = require("puppeteer-core");

const wait = (ms) => new Promise((done) => setTimeout(done, ms));

// The longest time for which the page stood still while it was at work, in s.
const watch = () => {
  const seen = { last: performance.now(), gap: 0, text: "" };
  setInterval(() => {
    const text = document.getElementById("now").textContent, now = performance.now();
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
  for (let i = 0; i < 100 && !fs.existsSync(file); i++) await wait(100);
  await wait(100);
  return fs.readFileSync(file, "utf8");
}

async function measure(page, task, batch, answer) {
  await (await page.$("#pictures")).uploadFile(...batch.files);
  await page.select("#scanner", String(batch.scanner ?? 0));
  if (batch.readings) await page.click("#ruler summary");
  for (const [marks, text] of Object.entries(batch.readings ?? {})) await page.type(`#${marks}`, text);
  const start = Date.now();
  await page.click("#measure");
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
  answer.memory = Number(await page.evaluate(() => document.body.dataset.memory ?? 0));
}

async function shoot(page, task, name) {
  if (task.shots) await page.screenshot({ path: `${task.shots}-${name}.png`, fullPage: true });
}

// The report within has a check of its own, and no script may run there.
async function faults(page) {
  await page.evaluate(fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8"));
  return page.evaluate(async () => {
    const result = await axe.run(document, { resultTypes: ["violations"], preload: false, iframes: false });
    return result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes[0].html.slice(0, 120)}`);
  });
}

async function work(page, task, answer) {
  await page.goto(task.url, { waitUntil: "load" });
  if (task.script === false) {
    answer.words = await page.evaluate(() => document.querySelector("main").innerText);
    await shoot(page, task, "script");
    return;
  }
  await page.evaluate(watch);
  await shoot(page, task, "empty");
  if (task.offline) await page.setOfflineMode(true);
  if (task.throttle) await page.emulateCPUThrottling(task.throttle);
  for (const batch of task.batches) await measure(page, task, batch, answer);
  answer.now = await page.evaluate(() => document.getElementById("now").textContent);
  answer.gap_s = await page.evaluate(() => window.gap_s ?? 0);
  answer.results = await page.evaluate(() => [...document.querySelectorAll("#results li")].map((item) =>
    ({ kind: item.querySelector(".said").className.replace("said ", ""), words: item.innerText })));
  answer.has_report = await page.evaluate(() => !document.getElementById("done").hidden);
  if (answer.has_report) {
    answer.html = await saved(page, task.downloads, "save-page", "report.html");
    answer.json = await saved(page, task.downloads, "save-json", "report.json");
    const codes = await page.evaluate(() => !document.getElementById("save-codes").hidden);
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

async function main() {
  const task = JSON.parse(fs.readFileSync(0, "utf8"));
  const browser = await puppeteer.launch({
    executablePath: task.browser, userDataDir: task.profile, protocolTimeout: 3600000,
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--hide-scrollbars"],
  });
  const page = await browser.newPage();
  const answer = { requests: [], errors: [], seconds: [] };
  page.on("request", (r) => { answer.requests.push(r.url()); });
  page.on("requestfailed", (r) => answer.errors.push(`can't load ${r.url()}`));
  page.on("console", (m) => { if (m.type() === "error") answer.errors.push(m.text()); });
  page.on("pageerror", (e) => answer.errors.push(String(e)));
  await page.setJavaScriptEnabled(task.script !== false);
  await page.setViewport({ width: task.width ?? 800, height: 740 });
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: task.scheme ?? "light" }]);
  const session = await browser.target().createCDPSession();
  await session.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: task.downloads });
  try {
    await work(page, task, answer);
  } finally {
    await browser.close();
  }
  console.log(JSON.stringify(answer));
}

main();
