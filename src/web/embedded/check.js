// @ts-check
// The page that inspects sheets: a form, a worker that measures, and what came out. It stands behind page.js, and
// src/web/worker.js is the worker's end.
"use strict";

(function () {
  /**
   * @typedef {object} Picture
   * @property {number} verdict -1: it cannot be used
   * @property {string} label
   * @property {string} sheet "" of a proof page
   * @property {number} plan whose sheet
   * @property {boolean} finer true, but none of its lines was measured
   * @property {string} answer
   * @property {string} advice
   * @property {string} code "" where it isn't true
   * @property {string} steps
   * @property {boolean} decoded
   * @property {string} [how] by what it was measured: whoever verifies its code must give the same
   * @property {HTMLElement} [item] where it stands on the page
   *
   * @typedef {{paper: string, kit: string, sheets: string[]}} Plan
   * @typedef {{scanner: number, words: string, readings: [string, number][]}} How as the form had it when measuring began
   */

  /** @type {HTMLFormElement} */
  const form = part("form");
  /** @type {HTMLInputElement} */
  const chosen = part("pictures");
  /** @type {HTMLInputElement} */
  const camera = part("camera");
  /** @type {HTMLSelectElement} */
  const scanner = part("scanner");
  /** @type {HTMLIFrameElement} */
  const frame = part("report");
  /** @type {HTMLProgressElement} */
  const bar = part("bar");
  const PICTURE_MOST = 1024; // MiB: PV_IMAGE_BYTES_MAX
  const PLAN_MOST = 128;     // PV_PLAN_BYTES_MAX
  const MARKS = ["PQ", "PS", "SR", "QR", "PR", "QS"];
  const NAMES_MOST = 12;     // sheets that are named; more are counted
  const KINDS = ["ok", "no", "un"];

  // ---- the worker ----

  /** The kit's plans. */
  const kits = () => [...Reflect.get(globalThis, "paviorPlans") ?? []];
  /** And those that were chosen. @type {{plans: {name: string, text: string}[]}} */
  const known = { plans: kits() };
  const face = new Hand("paviorModule", known, () => {
    measured = 0;
    pictures = [];
    part("older").hidden = false;
  });

  /** @type {Plan[]} */
  let plans = [];

  /** @param {string} name of the picture that waits for it */
  async function ready(name) {
    try {
      plans = (await face.open()).plans;
    } catch (error) {
      face.drop(error);
      throw new Error(faultOf(error, name));
    }
  }

  // ---- what is going on ----

  let ticking = 0;

  /** Says it once, shows the seconds that have passed, and moves the bar all the time: to half way in ten seconds, never
   *  to the end. @param {string} name @param {Filling} [with_] @param {number} [done] of the bar */
  function doing(name, with_ = {}, done = 0) {
    clearInterval(ticking);
    const start = Date.now();
    part("now").textContent = say(name, with_);
    const tell = () => {
      const s = (Date.now() - start) / 1000;
      part("seconds").textContent = `${Math.floor(s)} s`;
      bar.value = done + s / (s + 10);
    };
    tell();
    ticking = window.setInterval(tell, 200);
  }

  /** @param {string} text */
  function rest(text) {
    clearInterval(ticking);
    part("seconds").textContent = "";
    part("now").textContent = text;
  }

  /** @param {boolean} busy */
  function setBusy(busy) {
    const [from, to] = busy ? ["measure", "stop"] : ["stop", "measure"];
    const held = document.activeElement === part(from);
    part("work").hidden = false;
    part("work").scrollIntoView();
    part("done").hidden = busy || saved.html === "";
    part("doing").hidden = !busy;
    part("measure").hidden = busy;
    if (held)
      part(to).focus({ preventScroll: true });
    document.body.setAttribute("aria-busy", String(busy));
  }

  // ---- what came out ----

  let measured = 0; // files that the worker's next report has
  /** Of these files. @type {Picture[]} */
  let pictures = [];
  /** The report on show. @type {{html: string, json: string, pictures: Picture[]}} */
  let saved = { html: "", json: "", pictures: [] };

  /** @param {string} steps "PQ PS " */
  function stepWords(steps) {
    return steps.trim().split(" ").map((s) => say("step", { p: s[0], q: s[1] })).join(", ");
  }

  /** The first result of former runs. @type {Node | null} */
  let older = null;

  /** @param {Picture} one */
  function nameOf(one) {
    return one.sheet !== "" || one.verdict < 0 ? one.sheet : say("proof");
  }

  /** @param {Picture} one */
  function show(one) {
    const kind = KINDS[one.verdict] ?? "er", item = document.createElement("li");
    const head = element("p", "", `said ${kind}`), said = document.createElement("span");
    said.append(element("b", nameOf(one).replace(/.$/, "$&: ")), one.answer);
    head.append(sign(kind), said);
    item.append(head);
    if (one.advice !== "")
      item.append(element("p", one.advice));
    if (one.steps !== "")
      item.append(element("p", say("steps", { x: stepWords(one.steps) })));
    if (one.decoded)
      item.append(element("p", say("browser"), "m"));
    item.append(element("p", one.label, "m"));
    if (one.code !== "")
      item.append(element("p", `${say("code", { x: one.code })} (${one.how})`, "m"));
    part("results").insertBefore(item, older);
    return item;
  }

  /** A line of our own, where no picture came out. @param {string} label @param {string} text */
  function showFault(label, text) {
    show({ verdict: -1, label, sheet: "", plan: 0, finer: false, answer: text, advice: "", code: "", steps: "", decoded: false });
  }

  /** Of all results on the page, also of those that the report lacks, the last of each picture. @type {Map<string, Picture>} */
  const told = new Map();

  /** What all pictures of a sheet come to, as the library counts it for a team. @param {Picture[]} all */
  function stateOf(all) {
    const good = all.some((one) => one.verdict === 0 && !one.finer), bad = all.some((one) => one.verdict === 1);
    return good && bad ? "both" : good ? "good" : bad ? "bad" : all.length > 0 ? "open" : "missing";
  }

  /** @param {string[]} names */
  function listed(names) {
    const first = names.slice(0, NAMES_MOST).join(", "), n = names.length - NAMES_MOST;
    return n > 0 ? say("more", { x: first, n }) : first || say("nothing");
  }

  /** What all results come to, for each mat; what to do with it. */
  function total() {
    const sheets = [...told.values()].filter((one) => one.sheet !== ""), lines = [], next = new Set();
    /** Of each plan, by sheet. @type {Map<string, Picture[]>[]} */
    const found = plans.map(() => new Map());
    for (const one of sheets)
      found[one.plan].set(one.sheet, found[one.plan].get(one.sheet) ?? []).get(one.sheet)?.push(one);
    for (const [i, plan] of plans.entries()) {
      if (found[i].size === 0)
        continue;
      /** @type {Record<string, string[]>} */
      const by = { good: [], bad: [], open: [], both: [], missing: [] };
      for (const name of plan.sheets)
        by[stateOf(found[i].get(name) ?? [])].push(name);
      const n = by.good.length, m = plan.sheets.length, alike = plans.filter((one) => one.paper === plan.paper && one.sheets.length > 0);
      if (m > 1)
        lines.push(say("total", { p: alike.length > 1 ? say("mat", { p: plan.paper, k: plan.kit }) : plan.paper, n, m,
                                  a: listed([...by.bad, ...by.both]), b: listed(by.open), c: listed(by.missing) }));
      if (by.both.length > 0)
        lines.push(say("both", { x: listed(by.both) }));
      const wanting = n > 0 && by.missing.length > 0 && by.bad.length + by.both.length === 0;
      next.add(n === m && m > 1 ? "whole" : wanting ? "others" : "");
    }
    for (const id of ["others", "whole"])
      part(id).hidden = next.size !== 1 || !next.has(id); // only what holds for all mats
    part("total").replaceChildren(...lines.map((one) => element("p", one)));
    part("total").hidden = sheets.length < 2 || lines.length === 0;
  }

  async function report() {
    doing("reporting", {}, bar.max - 1);
    try {
      saved = { ...await face.post("report", {}), pictures: [...pictures] };
    } catch (error) {
      face.drop(error);
      throw new Error(say("unwritten"));
    }
    frame.srcdoc = saved.html;
    part("older").hidden = true;
    part("save-codes").hidden = part("codes").hidden = !pictures.some((one) => one.code !== "");
  }

  /** Pictures that the report on show lacks say so. */
  function settle() {
    for (const item of part("results").querySelectorAll(".kept"))
      if (!saved.pictures.some((one) => one.item === item)) {
        item.classList.remove("kept");
        item.append(element("p", say("lost"), "m"));
      }
  }

  frame.addEventListener("load", () => {
    const inner = frame.contentDocument?.documentElement;
    if (inner && saved.html !== "")
      new ResizeObserver(() => {
        frame.style.height = `${Math.ceil(inner.getBoundingClientRect().height) + 2}px`;
      }).observe(inner);
    // Its links lead into itself, but what has no address of its own takes them for this page's.
    inner?.addEventListener("click", (event) => {
      const link = /** @type {Element} */ (event.target).closest("a")?.getAttribute("href");
      if (!link?.startsWith("#"))
        return;
      event.preventDefault();
      frame.contentDocument?.getElementById(link.slice(1))?.scrollIntoView();
    });
  });

  // ---- measuring ----

  /** @param {unknown} error @param {string} name the picture's */
  function faultOf(error, name) {
    const why = messageOf(error);
    return isMemory(why) ? say(isPlan({ name }) ? "crowded" : "memory", { f: name }) : say("failed", { x: why });
  }

  /** @returns {[string, number][]} */
  function readings() {
    /** @type {[string, number][]} */
    const all = [];
    for (const marks of MARKS) {
      const text = /** @type {HTMLInputElement} */ (part(marks)).value.trim().replace(/\s*mm$/, "");
      const mm = Number(text.replace(",", "."));
      if (text !== "" && !(mm > 0 && Number.isFinite(mm)))
        throw new Error(say("number", { x: text }));
      if (text !== "")
        all.push([marks, mm]);
    }
    return all;
  }

  /** @param {File} file @param {number} most MiB */
  async function bytesOf(file, most) {
    if (file.size > most * 2 ** 20)
      throw new Error(say("large", { f: file.name, n: most }));
    return file.arrayBuffer().catch((error) => {
      throw new Error(say("unread", { f: file.name, x: messageOf(error) }));
    });
  }

  /** @param {{name: string}} file */
  function isPlan(file) {
    return /\.json$/i.test(file.name);
  }

  /** Of a paper that the kit lacks. It counts for pictures that come later, too. @param {File} file */
  async function takePlan(file) {
    const text = new TextDecoder("utf-8", { ignoreBOM: true }).decode(await bytesOf(file, PLAN_MOST));
    if (known.plans.some((one) => one.text === text))
      return;
    const one = { name: file.name, text };
    try {
      // Into what the worker answered as it opened: later runs find it there.
      plans.push(await face.post("plan", one));
    } catch (error) {
      const declined = error instanceof Declined, why = messageOf(error);
      if (!declined)
        face.drop(error);
      throw new Error(declined && !isMemory(why) ? say("plan", { f: file.name, x: why }) : faultOf(error, file.name));
    }
    known.plans.push(one);
  }

  /** @param {File} file @param {number} files @param {How} how */
  async function measureOne(file, files, how) {
    const bytes = await bytesOf(file, PICTURE_MOST).catch((error) => {
      showFault(file.name, messageOf(error));
      return null;
    });
    if (bytes === null)
      return;
    try {
      const done = await face.post("inspect", {
        bytes, name: file.name, opened: say("opened", { f: file.name }), files, scanner: how.scanner,
        readings: how.readings,
      }, [bytes]);
      document.body.dataset.memory = done.memory;
      measured++;
      for (const one of done.pictures) {
        one.how = [how.words, ...how.readings.map(([marks, mm]) => `${marks} ${mm} mm`)].join(", ");
        one.item = show(one);
        one.item.className = "kept";
        pictures.push(one);
        told.set(`${one.label} ${file.size} ${file.lastModified}`, one);
      }
      total();
    } catch (error) {
      if (stopped)
        throw error;
      showFault(file.name, faultOf(error, file.name));
      if (error instanceof Declined)
        return;
      // What is left of the module can't be trusted.
      face.drop(error);
      await ready(file.name);
    }
  }

  let stopped = false;

  /** A camera gives one at a time. @type {File[]} */
  let photographs = [];

  /** @param {File[]} files */
  function keepPhotographs(files) {
    photographs = files;
    part("taken").textContent = files.length > 0 ? say("taken", { n: files.length }) : "";
  }

  camera.addEventListener("change", () => {
    keepPhotographs([...photographs, ...(camera.files ?? [])]);
    camera.value = "";
    scanner.value = "0";
  });

  /** @param {File[]} given pictures, and plans of other papers @param {How} how */
  async function measureAll(given, how) {
    const files = given.filter((one) => !isPlan(one));
    if (how.readings.length > 0 && files.length > 1)
      throw new Error(say("one"));
    bar.max = files.length + 2;
    doing("loading");
    await ready(given[0].name);
    for (const one of given.filter(isPlan))
      await takePlan(one);
    const papers = new Set(plans.filter((one) => one.sheets.length > 0).map((one) => one.paper));
    part("papers").textContent = say("papers", { x: [...papers].join(", ") });
    if (files.length === 0)
      throw new Error(say("alone"));
    const all = measured + files.length;
    for (const [i, file] of files.entries()) {
      doing("measuring", { n: i + 1, m: files.length, f: file.name }, i + 1);
      await measureOne(file, all, how);
    }
    if (measured > 0)
      await report();
    rest(say("done"));
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (document.body.getAttribute("aria-busy") === "true")
      return;
    const files = [...(chosen.files ?? []), ...photographs];
    stopped = false;
    older = part("results").firstChild;
    setBusy(true);
    try {
      const how = { scanner: Number(scanner.value), words: scanner.selectedOptions[0].text, readings: readings() };
      if (files.length === 0)
        throw new Error(say("none"));
      await measureAll(files, how);
      for (const id of ["pictures", ...MARKS])
        /** @type {HTMLInputElement} */ (part(id)).value = "";
      keepPhotographs(photographs.filter((one) => !files.includes(one)));
    } catch (error) {
      rest(stopped ? say("stopped") : messageOf(error));
    }
    settle();
    setBusy(false);
  });

  part("stop").addEventListener("click", () => {
    stopped = true;
    face.drop(new Error());
  });

  part("again").addEventListener("click", () => {
    face.drop(new Error());
    saved = { html: "", json: "", pictures: [] };
    keepPhotographs([]);
    part("results").replaceChildren();
    known.plans = kits();
    part("papers").textContent = "";
    told.clear();
    total();
    frame.srcdoc = "";
    part("done").hidden = true;
    part("work").hidden = true;
    chosen.focus();
  });

  // ---- saving ----

  part("save-page").addEventListener("click", () => saveAs("report.html", "text/html", saved.html));
  part("save-json").addEventListener("click", () => saveAs("report.json", "application/json", saved.json));
  part("save-codes").addEventListener("click", () => {
    const lines = saved.pictures.filter((one) => one.code !== "").map((one) => `${nameOf(one)} ${one.code} ${one.label} (${one.how})\n`);
    saveAs("codes.txt", "text/plain", lines.join(""));
  });

  // ---- whether it can begin ----

  // Without the scripts beside it, the page keeps the words that stand there.
  if ("paviorModule" in globalThis && "paviorPlans" in globalThis)
    form.hidden = !canBegin();
})();
