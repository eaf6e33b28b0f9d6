// Starts headless Chromium with a page in it, for tests that work a page as a person does, and writes down what the page
// asks of the network and what goes wrong in it.
const fs = require("fs");
const puppeteer = require("puppeteer-core");

/** Where the browser is and keeps its things: the task's `browser` and `profile`. */
function start(task) {
  return puppeteer.launch({
    executablePath: task.browser, userDataDir: task.profile, protocolTimeout: 3600000,
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--hide-scrollbars"],
  });
}

function listen(page, answer) {
  page.on("request", (r) => { answer.requests.push(r.url()); });
  page.on("requestfailed", (r) => answer.errors.push(`can't load ${r.url()}`));
  page.on("console", (m) => { if (m.type() === "error") answer.errors.push(m.text()); });
  page.on("pageerror", (e) => answer.errors.push(String(e)));
}

/** As the task's `script`, `width`, `height`, `scheme` and `downloads` want it; 740 px high, as phones are. */
async function prepare(browser, page, task) {
  await page.setJavaScriptEnabled(task.script !== false);
  await page.setViewport({ width: task.width ?? 800, height: task.height ?? 740 });
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: task.scheme ?? "light" }]);
  const session = await browser.target().createCDPSession();
  await session.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: task.downloads });
}

/** Reads a task as JSON, does `work` on its page at its `url`, and writes the answer. With `look`, or with `script: false`,
 *  which blocks scripts, it does nothing, and answers with the words that stand there. `before` is a script to run first. */
async function run(work) {
  const task = JSON.parse(fs.readFileSync(0, "utf8"));
  const browser = await start(task);
  const answer = { requests: [], errors: [] };
  try {
    const page = await browser.newPage();
    listen(page, answer);
    await prepare(browser, page, task);
    if (task.before) await page.evaluateOnNewDocument(task.before);
    await page.goto(task.url, { waitUntil: "load" });
    if (task.script === false || task.look)
      answer.words = await page.evaluate(() => document.querySelector("main").innerText);
    else
      await work(page, task, answer);
  } finally {
    await browser.close();
  }
  console.log(JSON.stringify(answer));
}

const wait = (ms) => new Promise((done) => setTimeout(done, ms));

/** Lets all of the browser's processes run one part in `times` of the time from now on; gives what ends that and says how
 *  many times slower it was. Chromium's own throttle (Emulation.setCPUThrottlingRate) slows a page's thread alone; workers refuse it. */
function slowed(browser, times) {
  const group = -browser.process().pid, start = performance.now();
  let ran = 0, over = false;
  const work = async () => {
    while (!over) {
      const on = performance.now();
      await wait(10);
      process.kill(group, "SIGSTOP");
      ran += performance.now() - on;
      await wait(times * ran - (performance.now() - start));
      process.kill(group, "SIGCONT");
    }
    return (performance.now() - start) / ran;
  };
  const done = work();
  return () => { over = true; return done; };
}

/** A picture of the page as it is, where the task has `shots`. */
async function shoot(page, task, name) {
  if (task.shots) await page.screenshot({ path: `${task.shots}-${name}.png`, fullPage: true });
}

/** As soon as the browser has saved it. */
async function arrived(file) {
  for (let i = 0; i < 100 && !fs.existsSync(file); i++) await wait(100);
  await wait(100);
}

/** What axe finds. A report within a page has a check of its own, and no script may run there. */
async function faults(page) {
  await page.evaluate(fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8"));
  return page.evaluate(async () => {
    const result = await axe.run(document, { resultTypes: ["violations"], preload: false, iframes: false });
    return result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes[0].html.slice(0, 160)}`);
  });
}

module.exports = { arrived, faults, run, shoot, slowed, start, wait };
