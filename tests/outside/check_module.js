// Inspects pictures with the module of check-module.js under node, for test_web.py: reads {module, plans, files, rounds, scanner} as
// JSON and answers with the reports on the first round, and each picture's CPU time in s and the module's memory after it.
const fs = require("fs");
const path = require("path");
const { openFace } = require(path.join(__dirname, "../../src/web/fill.js"));

async function inspect(ask, file, files, scanner) {
  const bytes = new Uint8Array(fs.readFileSync(file)), name = path.basename(file), before = process.cpuUsage();
  const done = await ask("inspect", { bytes: bytes.buffer, name, opened: name, files, scanner, readings: [] });
  const used = process.cpuUsage(before);
  return { file: name, cpu: (used.user + used.system) / 1e6, memory: done.memory };
}

async function main() {
  const task = JSON.parse(fs.readFileSync(0, "utf8"));
  const plans = task.plans.map((p) => ({ name: path.basename(p), text: fs.readFileSync(p, "utf8") }));
  const { ask } = await openFace(task.module, "en", plans);
  const rounds = [];
  let report = null;
  for (let i = 0; i < (task.rounds ?? 1); i++) {
    rounds.push([]);
    for (const file of task.files) rounds[i].push(await inspect(ask, file, task.files.length, task.scanner));
    report ??= await ask("report");
    await ask("clear");
  }
  console.log(JSON.stringify({ ...report, rounds }));
}

main();
