// Opens pages in headless Chromium, for browse.py: reads {browser, profile, pages: [{file, shots}], widths,
// schemes} as JSON and answers, for each page, with what axe finds in each window, what overflows it sideways,
// what was asked of the network, and errors on the console. With `shots` a picture of each is written there.
const fs = require("fs");
const { start } = require("./chromium.js");
const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

async function look(page, job, width, scheme) {
  await page.setViewport({ width, height: 900 });
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
  const found = await page.evaluate(async () => {
    const result = await axe.run(document, { resultTypes: ["violations"], preload: false });
    return result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 2).map((n) =>
      n.target.join(" ") + " " + n.html.slice(0, 120)).join(" | ")}`);
  });
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  if (over > 0) found.push(`${over} px wider than the window`);
  if (job.shots) await page.screenshot({ path: `${job.shots}-${width}-${scheme}.png`, fullPage: true });
  return found.map((f) => `${width} px, ${scheme}: ${f}`);
}

async function main() {
  const task = JSON.parse(fs.readFileSync(0, "utf8"));
  const browser = await start(task);
  const answers = [];
  for (const job of task.pages) {
    const page = await browser.newPage();
    const found = [];
    page.on("request", (r) => { if (!/^(file|data|blob):/.test(r.url())) found.push(`asks for ${r.url()}`); });
    page.on("requestfailed", (r) => found.push(`can't load ${r.url()}`));
    page.on("console", (m) => { if (m.type() === "error") found.push(m.text()); });
    await page.goto("file://" + job.file);
    await page.evaluate(axe);
    for (const width of task.widths)
      for (const scheme of task.schemes) found.push(...await look(page, job, width, scheme));
    if (job.shots) await page.pdf({ path: `${job.shots}.pdf`, preferCSSPageSize: true, printBackground: true, format: "a4" });
    await page.close();
    answers.push(found);
  }
  await browser.close();
  console.log(JSON.stringify(answers));
}

main();
