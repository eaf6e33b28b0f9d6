// Lays and draws courses with the module of course-module.js under node, for test_course.py: reads {module, language,
// jobs: [{text, choices, out}]} as JSON, writes OUT.svg, OUT.review.json, OUT.plan.json and OUT-1.pdf and so on, and
// answers with what was laid and the seconds that each step took.
const fs = require("fs");
const path = require("path");
const { openDesk } = require(path.join(__dirname, "../../src/web/fill.js"));

async function main() {
  const task = JSON.parse(fs.readFileSync(0, "utf8"));
  const { ask } = await openDesk(task.module, task.language ?? "en");
  const answers = [];
  for (const job of task.jobs) {
    const times = {}, timed = async (work, asked) => {
      const start = performance.now(), done = await ask(work, asked);
      times[work] = (performance.now() - start) / 1000;
      return done;
    };
    const drawn = await timed("draw", { text: job.text, run: false });
    const reviewed = await timed("review", { text: job.text });
    const laid = await timed("lay", { text: job.text, choices: job.choices });
    const made = laid.good ? await timed("files", {}) : { pdfs: [] };
    fs.writeFileSync(`${job.out}.svg`, drawn.svg);
    fs.writeFileSync(`${job.out}.review.json`, reviewed.json ?? "");
    if (laid.good) fs.writeFileSync(`${job.out}.plan.json`, made.plan);
    made.pdfs.forEach((bytes, i) => fs.writeFileSync(`${job.out}-${i + 1}.pdf`, Buffer.from(bytes)));
    answers.push({ times, good: laid.good, said: laid.said, sheets: laid.sheets?.length, identity: laid.identity,
                   pdfs: made.pdfs.length, memory: made.memory });
  }
  console.log(JSON.stringify(answers));
}

main();
