// @ts-check
// The drawing table: a course's text, its drawing as one types, what the review says, and the sheets. Two workers do
// the work, so that drawing never waits for a review or for sheets: src/web/desk_worker.js is their end. It stands
// behind page.js.
"use strict";

(function () {
  /**
   * @typedef { {line: number, column: number, length: number} } Place
   * @typedef { Place & {severity: number, message: string, hint: string} } Said
   * @typedef { Place & {kind: string, text: string, at: [number, number] | null} } Found
   * @typedef { {name: string, cell: number[]} } Sheet
   * @typedef { {name: string, width: number, height: number} } Paper
   */

  /** @param {string} id */
  const value = (id) => /** @type {HTMLInputElement | HTMLSelectElement} */ (part(id)).value.trim();
  const text = /** @type {HTMLTextAreaElement} */ (part("text"));
  const KINDS = ["un", "un", "er"]; // a pv_severity's sign
  const MARKED_MOST = 200000;       // characters of a text whose faulty words are underlined
  const PAUSE = 250;                // ms without a key before a review begins
  const COURSE_MOST = 4 << 20;      // bytes: PV_COURSE_BYTES_MAX
  const PRINTER_MOST = 1 << 20;     // PV_PRINTER_BYTES_MAX

  /** What is wrong, and what to do. @param {string} message @param {string} [hint] */
  function advised(message, hint) {
    return hint ? `${message}; ${hint}` : message;
  }

  /** What a person can mend, in the page's words. */
  class Refusal extends Error {}

  /** @param {unknown} error */
  function faultOf(error) {
    const why = messageOf(error);
    return error instanceof Refusal ? why : isMemory(why) ? say("memory") : say("failed", { x: why });
  }

  // ---- the workers ----

  const hand = new Hand("paviorDesk"), head = new Hand("paviorDesk"); // who draws; who reviews, lays and makes kits

  /** What is left of a module that failed can't be trusted. @param {Hand} of @param {string} work @param {object} what */
  async function ask(of, work, what) {
    let worker = null;
    try {
      const opened = of.open();
      worker = of.worker;
      await opened;
      return await of.post(work, what);
    } catch (error) {
      if (worker === of.worker)
        of.drop(error);
      throw error;
    }
  }

  // ---- the pad ----

  /** @type {Found[]} */
  let faults = [];
  /** @type {Found[]} */
  let reviewed = [];

  /** @param {Said[]} said @returns {Found[]} */
  function foundOf(said) {
    return said.map((one) => ({
      kind: KINDS[one.severity], line: one.line, column: one.column, length: one.length, at: null,
      text: advised(one.message, one.hint),
    }));
  }

  /** @returns {Found[]} in the order of the text */
  function found() {
    return [...faults, ...reviewed].sort((a, b) => a.line - b.line || a.column - b.column);
  }

  /** Where a place begins in the text, in UTF-16. Columns count characters. @param {Place} one */
  function startOf(one) {
    let at = 0;
    for (let line = 1; line < one.line; line++) {
      const end = text.value.indexOf("\n", at);
      if (end < 0)
        return text.value.length;
      at = end + 1;
    }
    for (let column = 1; column < one.column && at < text.value.length && text.value[at] !== "\n"; column++)
      at += (text.value.codePointAt(at) ?? 0) > 0xFFFF ? 2 : 1;
    return at;
  }

  /** @param {Place} one */
  function goTo(one) {
    const at = startOf(one);
    text.focus();
    text.setSelectionRange(at, at + Math.max(1, one.length));
    const height = parseFloat(getComputedStyle(text).lineHeight);
    text.scrollTop = Math.max(0, (one.line - 4) * height);
    follow();
  }

  function follow() {
    part("numbers").scrollTop = part("marks").scrollTop = text.scrollTop;
    part("marks").scrollLeft = text.scrollLeft;
  }

  let numbered = "";

  /** Line numbers, those of findings marked; and a line under each faulty word. */
  function mark() {
    const lines = text.value.split("\n").length, places = found().filter((one) => one.line > 0);
    const flagged = new Set(places.map((one) => one.line)), key = `${lines}:${[...flagged].join()}`;
    if (key !== numbered) {
      const numbers = Array.from({ length: lines }, (_, i) => flagged.has(i + 1) ? `<b>${i + 1}</b>` : String(i + 1));
      part("numbers").innerHTML = `${numbers.join("\n")}\n\n\n`;
      numbered = key;
    }
    const nodes = [];
    let from = 0;
    if (text.value.length <= MARKED_MOST)
      for (const one of places.filter((p) => p.length > 0)) {
        const at = startOf(one), to = Math.min(text.value.length, at + one.length);
        if (at < from || to <= at)
          continue;
        nodes.push(text.value.slice(from, at), element("mark", text.value.slice(at, to)));
        from = to;
      }
    part("marks").replaceChildren(...nodes, nodes.length > 0 ? `${text.value.slice(from)}\n\n\n` : "");
    follow();
  }

  // ---- the drawing ----

  let drawn = { name: "", width: 0, height: 0 };
  /** @type {Sheet[]} */
  let cells = [];

  /** What lies over the drawing: where findings are, and the sheets. */
  function overlay() {
    part("stage").querySelector(".over")?.remove();
    if (drawn.width === 0)
      return;
    const { width: w, height: h } = drawn, size = Math.max(w, h) / 45;
    const over = svg("svg", { class: "over", viewBox: `0 0 ${w} ${h}`, "aria-hidden": "true" });
    for (const { name, cell: [left, bottom, right, top] } of cells) {
      const label = svg("text", { x: (left + right) / 2, y: h - (bottom + top) / 2, "font-size": size * 1.3 });
      label.textContent = name;
      over.append(svg("rect", { x: left, y: h - top, width: right - left, height: top - bottom }), label);
    }
    found().forEach((one, i) => {
      if (one.at === null)
        return;
      const [x, y] = [one.at[0], h - one.at[1]], label = svg("text", { x, y, "font-size": size * 1.1 });
      label.textContent = String(i + 1);
      over.append(svg("circle", { cx: x, cy: y, r: size }), label);
    });
    part("stage").append(over);
  }

  /** @param {string} markup of pv_course_svg */
  function showDrawing(markup) {
    const made = new DOMParser().parseFromString(markup, "image/svg+xml").documentElement;
    made.setAttribute("aria-hidden", "true");
    part("mat").replaceChildren(document.importNode(made, true));
  }

  let drawing = false, wanted = false, typed = 0;

  async function draw() {
    wanted = true;
    if (drawing)
      return;
    drawing = true;
    while (wanted) {
      wanted = false;
      const since = typed, of = edition;
      try {
        const got = await ask(hand, "draw", { text: text.value, run: /** @type {HTMLInputElement} */ (part("run")).checked });
        // The faults of a text that is no more are nobody's.
        if (got.good || of === edition)
          take(got, since);
      } catch (error) {
        part("held").textContent = faultOf(error);
        part("stage").classList.add("stale");
      }
    }
    drawing = false;
  }

  /** @param {any} got @param {number} since */
  function take(got, since) {
    faults = foundOf(got.said);
    if (got.good) {
      drawn = got;
      showDrawing(got.svg);
      part("name").textContent = got.name;
      part("size").textContent = say("size", { w: +got.width.toFixed(1), h: +got.height.toFixed(1) });
    }
    part("stage").classList.toggle("stale", !got.good);
    part("held").textContent = got.good ? "" : say("stale");
    if (!got.good) {
      reviewed = [];
      part("whole").hidden = true;
      verdict(say("faults", { n: faults.filter((one) => one.kind === "er").length }), "er");
    }
    list();
    requestAnimationFrame(() => {
      document.body.dataset.drawn = String(Math.round(performance.now() - since));
      document.body.dataset.count = String(Number(document.body.dataset.count ?? 0) + 1);
    });
  }

  // ---- the review ----

  /** @param {string} told @param {string} kind */
  function verdict(told, kind) {
    part("verdict").textContent = told;
    part("verdict").className = kind;
  }

  /** @param {Place} one @param {string} kind @param {string} told @param {number} number */
  function item(one, kind, told, number) {
    const made = document.createElement("li"), line = element("p", "", "said"), said = document.createElement("span");
    const marker = sign(kind);
    if (one.line > 0) {
      const place = element("button", say("line", { n: one.line }), "place");
      place.setAttribute("type", "button");
      place.addEventListener("click", () => goTo(one));
      said.append(place);
    }
    said.append(number > 0 ? `${number}: ` : "", told);
    line.append(marker, said);
    made.append(line);
    return made;
  }

  function list() {
    const all = found();
    part("findings").replaceChildren(...all.map((one, i) =>
      item(one, one.kind, one.text, one.at !== null ? i + 1 : 0)));
    mark();
    overlay();
  }

  let pause = 0, edition = 0; // how often the text has changed
  let reviewing = false, last = -1; // the edition that was reviewed last

  /** Reviews the text as it is now, unless sheets are being made: then after them. */
  async function review() {
    if (reviewing || working)
      return;
    reviewing = true;
    while (last !== edition && !working) {
      const of = edition;
      try {
        const got = await ask(head, "review", { text: text.value });
        if (of === edition)
          takeReview(got);
      } catch (error) {
        // Stopped with the sheets: it is made anew after them.
        if (error instanceof Refusal)
          continue;
        if (of === edition)
          noReview(faultOf(error));
      }
      last = of;
    }
    reviewing = false;
  }

  /** @param {string} told why */
  function noReview(told) {
    verdict(say("unreviewed"), "er");
    part("whole").hidden = true;
    part("told").textContent = told;
  }

  /** Of a text that can't be read the drawing says what is wrong. @param {any} got */
  function takeReview(got) {
    if (got.json) {
      showReview(JSON.parse(got.json), got.text);
    } else if (got.read) {
      reviewed = foundOf(got.said);
      noReview("");
      list();
    }
  }

  /** @param {any} told @param {string} whole */
  function showReview(told, whole) {
    reviewed = told.findings.map((/** @type {any} */ one) => ({
      kind: one.kind === "problem" ? "no" : "un", line: one.source_line ?? 0, column: one.source_column ?? 0,
      length: 0, text: advised(one.message, one.hint),
      at: Array.isArray(one.at) ? one.at : null,
    }));
    const problems = reviewed.filter((one) => one.kind === "no").length;
    verdict(told.sound ? say("sound") : say("problems", { n: problems }), told.sound ? "ok" : "no");
    part("told").textContent = told.sound && reviewed.length === 0 ? say("nothing") : "";
    part("review").textContent = whole;
    part("whole").hidden = false;
    list();
  }

  /** The text is another. */
  function changed() {
    typed = performance.now();
    edition++;
    reviewed = [];
    cells = [];
    part("told").textContent = "";
    for (const [id, now, name] of [["laid", "now", "changed"], ["kit-laid", "kit-now", "changed-kit"]]) {
      if (part(id).childElementCount > 0)
        part(now).textContent = say(name);
      clear(id);
    }
    mark();
    verdict(say("reviewing"), "");
    clearTimeout(pause);
    pause = window.setTimeout(review, PAUSE);
    return draw();
  }

  // ---- files ----

  let saved = text.value;

  /** @param {string} name */
  function plainName(name) {
    const plain = name.normalize("NFKD").replace(/[^A-Za-z0-9]+/g, "-").replace(/^-+|-+$/g, "").toLowerCase();
    return plain.slice(0, 40) || "course";
  }

  /** @param {string} name @param {Blob} blob @param {string} label @param {string} into */
  function offer(name, blob, label, into) {
    const link = /** @type {HTMLAnchorElement} */ (element("a", label, "button"));
    link.href = URL.createObjectURL(blob);
    link.download = name;
    part(into).append(link);
    return link;
  }

  /** @param {string} id of what was offered */
  function clear(id) {
    for (const link of part(id).querySelectorAll("a"))
      URL.revokeObjectURL(link.href);
    part(id).replaceChildren();
  }

  function save() {
    saveAs(`${plainName(drawn.name)}.course`, "text/plain", text.value);
    saved = text.value;
  }

  /** In place of what is there, so that it can be taken back. @param {string} name @param {string} content */
  function replace(name, content) {
    if (text.value !== saved && !window.confirm(say("unsaved", { x: name })))
      return;
    text.focus();
    text.select();
    // The one way that leaves the text's own undo as it is.
    if (!document.execCommand("insertText", false, content)) {
      text.value = content;
      changed();
    }
    saved = text.value;
    text.setSelectionRange(0, 0);
    text.scrollTop = 0;
  }

  /** A chosen file's text. @param {File} file @param {number} most bytes */
  async function textOf(file, most) {
    if (file.size > most)
      throw new Refusal(say("large", { f: file.name, n: most >> 20 }));
    const bytes = await file.arrayBuffer().catch((error) => {
      throw new Refusal(say("unread", { f: file.name, x: error.message }));
    });
    try {
      return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    } catch {
      throw new Refusal(say("no-text", { f: file.name }));
    }
  }

  async function open() {
    const input = /** @type {HTMLInputElement} */ (part("file")), file = input.files?.[0];
    if (file === undefined)
      return;
    part("state").textContent = "";
    try {
      replace(file.name, await textOf(file, COURSE_MOST));
    } catch (error) {
      part("state").textContent = faultOf(error);
    } finally {
      input.value = "";
    }
  }

  // ---- the sheets ----

  let working = false, ticking = 0;
  let run = new AbortController(); // of what is worked at

  /** Says it again each second. @param {string} id @param {string} name */
  function doing(id, name) {
    const start = Date.now();
    const tell = () => { part(id).textContent = say(name, { s: Math.floor((Date.now() - start) / 1000) }); };
    clearInterval(ticking);
    tell();
    ticking = window.setInterval(tell, 500);
  }

  /** Moves the bar and Stop to what is worked at, and there the focus that the button would lose.
   * @param {boolean} busy @param {string} id where it tells of itself @param {HTMLButtonElement} button */
  function setBusy(busy, id, button) {
    const focused = document.activeElement;
    working = busy;
    if (busy) {
      part(id).before(part("doing"));
      part("bar").setAttribute("aria-labelledby", id);
    } else {
      clearInterval(ticking);
    }
    part("doing").hidden = !busy;
    for (const one of ["lay", "make-kit"])
      /** @type {HTMLButtonElement} */ (part(one)).disabled = busy;
    if (focused === (busy ? button : part("stop")))
      (busy ? part("stop") : button).focus();
    document.body.setAttribute("aria-busy", String(busy));
  }

  /** @type {Record<string, number>} */
  const UNITS = { mm: 1, cm: 10, m: 1000, in: 25.4, ft: 304.8 };

  /** One length or two, as they are typed; a bare number is in mm. @param {string} id @param {number} n
   * @returns {{text: string, mm: number[]}} as the library reads it */
  function lengths(id, n) {
    const parts = value(id).toLowerCase().split(/[x×]/).map((one) => /^(\d*[.,]?\d+)\s*([a-z]*)$/.exec(one.trim()) ?? ["", "", "?"]);
    const last = parts[parts.length - 1][2] || "mm";
    const all = parts.map(([, number, unit]) => ({ number: number.replace(",", "."), unit: unit || last }));
    if (all.length !== n || !all.every(({ unit }) => Object.hasOwn(UNITS, unit)))
      throw new Refusal(say(n === 1 ? "length" : "lengths", { f: nameOf(id), x: value(id) }));
    return { text: all.map(({ number, unit }) => number + unit).join("x"), mm: all.map(({ number, unit }) => Number(number) * UNITS[unit]) };
  }

  /** A field's, as the page has it. @param {string} id */
  function nameOf(id) {
    return /** @type {HTMLInputElement} */ (part(id)).labels?.[0].textContent ?? "";
  }

  /** What 100 mm come out as. @param {string} id @returns {number | null} */
  function ruler(id) {
    if (value(id) === "")
      return null;
    const [mm] = lengths(id, 1).mm;
    if (!(mm >= 90 && mm <= 110)) // PV_PRINTER_SCALE_MIN, _MAX
      throw new Refusal(say("number", { x: value(id) }));
    return mm;
  }

  const RULER_U = 0.003; // of 100 mm by a steel rule: PV_RULER_U, 0.3 mm

  /** @type {Paper[]} */
  let papers = [];

  /** The paper that is chosen or typed in. @returns {Paper} */
  function paper() {
    const known = papers.find((one) => one.name === value("paper"));
    if (known !== undefined)
      return known;
    const size = lengths("custom", 2), [width, height] = size.mm.sort((a, b) => a - b);
    return { name: size.text, width, height };
  }

  function chosenPrinter() {
    return /** @type {HTMLInputElement} */ (part("printer")).files?.[0];
  }

  /** Which of the two it is that corrects. */
  function showPrinter() {
    const chosen = chosenPrinter() !== undefined;
    part("by-file").hidden = !chosen;
    for (const id of ["across", "up"])
      /** @type {HTMLInputElement} */ (part(id)).disabled = chosen;
  }

  /** A printer file, chosen or of what was typed in; "" for none. @param {Paper} on @returns {Promise<string>} */
  async function printer(on) {
    const file = chosenPrinter();
    if (file !== undefined)
      return textOf(file, PRINTER_MOST);
    const across = ruler("across"), up = ruler("up");
    if (across === null && up === null)
      return "";
    if (across === null || up === null)
      throw new Refusal(say("both"));
    const none = { value: null, U: null, corrected: false };
    const one = (/** @type {number} */ mm) => ({ value: mm / 100, U: RULER_U, corrected: true });
    return JSON.stringify({
      format: "pavior printer", version: 1, paper: on.name, page_mm: [on.width, on.height],
      scale: { x: one(across), y: one(up) }, skew_mrad: none, ink_mm: none,
    });
  }

  /** @returns {Promise<[string, string][]>} */
  async function choices() {
    const on = paper();
    /** @type {[string, string][]} */
    const all = [["paper", on.name], ["overlap", lengths("overlap", 1).text],
                 ...["orientation", "joint", "colours", "language"].map((id) =>
                   /** @type {[string, string]} */ ([id, value(id)]))];
    if (value("margins") === "own")
      for (const side of ["margin-left", "margin-bottom", "margin-right", "margin-top"])
        all.push([side, lengths(side, 1).text]);
    else if (value("margins") !== "")
      all.push(["printer-class", value("margins")]);
    const correction = await printer(on);
    if (correction !== "")
      all.push(["printer", correction]);
    return all;
  }

  /** @param {string} id @param {Said[]} said */
  function showSaid(id, said) {
    part(id).replaceChildren(...said.map((one) =>
      item(one, KINDS[one.severity], advised(one.message, one.hint), 0)));
  }

  /** @param {number} bytes */
  function megabytes(bytes) {
    return (bytes / 1e6).toFixed(bytes < 1e6 ? 2 : 1);
  }

  /** @typedef {(work: string, what: object) => Promise<any>} Ask of the worker, until Stop */

  /** Works at something that takes long, and tells of it there. @param {string} id @param {string} button
   * @param {string} told @param {(ask: Ask) => Promise<string>} work gives what to say at its end */
  async function busy(id, button, told, work) {
    if (working)
      return;
    run = new AbortController();
    const { signal } = run, pressed = /** @type {HTMLButtonElement} */ (part(button));
    /** @type {Promise<never>} */
    const ended = new Promise((_, failed) => signal.addEventListener("abort", () => failed(signal.reason)));
    setBusy(true, id, pressed);
    doing(id, told);
    let end = "";
    try {
      end = await Promise.race([ended, work(async (what, asked) => {
        signal.throwIfAborted();
        return ask(head, what, asked);
      })]);
    } catch (error) {
      end = faultOf(error);
    }
    setBusy(false, id, pressed);
    part(id).textContent = end;
    review();
  }

  function stop() {
    const why = new Refusal(say("stopped"));
    head.drop(why);
    run.abort(why);
  }

  /** @param {Ask} ask */
  async function lay(ask) {
    clear("laid");
    cells = [];
    overlay();
    showSaid("refused", []);
    const of = edition, laid = await ask("lay", { text: text.value, choices: await choices() });
    showSaid("refused", laid.said);
    if (!laid.good)
      return "";
    const made = await ask("files", {});
    if (!made.good) {
      showSaid("refused", made.said);
      return "";
    }
    if (of !== edition)
      return say("changed");
    document.body.dataset.memory = made.memory;
    const name = `${plainName(drawn.name)}-${plainName(laid.paper)}`;
    cells = laid.sheets;
    overlay();
    made.pdfs.forEach((/** @type {ArrayBuffer} */ bytes, /** @type {number} */ i) => {
      const many = made.pdfs.length > 1;
      offer(`${name}${many ? `-${i + 1}` : ""}.pdf`, new Blob([bytes], { type: "application/pdf" }),
            say(many ? "pdfs" : "pdf", { n: i + 1, x: megabytes(bytes.byteLength) }), "laid");
    });
    offer(`${name}.plan.json`, new Blob([made.plan], { type: "application/json" }), say("plan"), "laid");
    return say(laid.sheets.length === 1 ? "one" : "laid", {
      n: laid.sheets.length, p: laid.paper, k: laid.identity, m: Math.round(laid.minutes),
    });
  }

  // ---- the kit ----

  /** As `make web` wrote it. @param {string} name @param {Script} what */
  function scriptText(name, what) {
    const plain = (/** @type {string} */ s) => JSON.stringify(s).replace(/[^ -~]/g, (c) =>
      `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`);
    /** @param {any} tree @returns {string} */
    const write = (tree) => typeof tree === "string" ? plain(tree)
      : `{${Object.entries(tree).map(([key, one]) => `${plain(key)}: ${write(one)}`).join(", ")}}`;
    return `"use strict";\nglobalThis.${name} = ${write(what)};\n`;
  }

  /** @type {Promise<void> | null} */
  let checking = null;

  /** Loads the other script, where it lies beside this page. */
  function checker() {
    return checking ??= new Promise((done) => {
      const tag = document.createElement("script");
      tag.src = "check-module.js";
      tag.onload = tag.onerror = () => {
        // A host may answer with something else in its place.
        if (!("paviorModule" in globalThis))
          checking = null;
        done();
      };
      document.head.append(tag);
    });
  }

  /** @param {Ask} ask */
  async function makeKit(ask) {
    clear("kit-laid");
    showSaid("kit-refused", []);
    const of = edition, folder = `${plainName(drawn.name)}-kit`;
    await checker();
    const other = Reflect.get(globalThis, "paviorModule"), check = other ? scriptText("paviorModule", other) : "";
    /** @type {[string, string][]} */
    const all = [["language", value("language")]];
    for (const paper of value("papers").split(",").map((one) => one.trim()).filter((one) => one !== ""))
      all.push(["kit-paper", paper]);
    if (value("url") !== "")
      all.push(["url", value("url")]);
    const made = await ask("kit", { text: text.value, choices: all, folder, checker: check,
                                    maker: scriptText("paviorDesk", hand.script()) });
    showSaid("kit-refused", made.said);
    if (!made.good)
      return "";
    if (of !== edition)
      return say("changed-kit");
    offer(`${folder}.zip`, new Blob([made.zip], { type: "application/zip" }),
          say("kit", { x: megabytes(made.zip.byteLength) }), "kit-laid");
    return say("made") + (check === "" ? ` ${say("without")}` : "");
  }

  // ---- all together ----

  /** To the next finding beyond the caret, or to the first. */
  function nextFinding() {
    const places = found().filter((one) => one.line > 0);
    const next = places.find((one) => startOf(one) > text.selectionStart) ?? places[0];
    if (next !== undefined)
      goTo(next);
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    const control = (event.ctrlKey || event.metaKey) && !event.shiftKey;
    /** @type {Record<string, () => void>} */
    const keys = control ? { s: save, o: () => part("file").click(), enter: () => part("lay").click() } : { f8: nextFinding };
    const act = keys[event.key.toLowerCase()]; // whatever caps lock does
    if (act === undefined)
      return;
    event.preventDefault();
    act();
  }

  function listen() {
    text.addEventListener("input", changed);
    text.addEventListener("scroll", follow);
    document.addEventListener("keydown", key);
    part("run").addEventListener("change", draw);
    part("save").addEventListener("click", save);
    part("open").addEventListener("click", () => part("file").click());
    part("file").addEventListener("change", open);
    part("beginning").addEventListener("change", () => {
      const name = value("beginning"), content = hand.script().texts?.[name];
      if (content !== undefined)
        replace(name, content);
      /** @type {HTMLSelectElement} */ (part("beginning")).value = "";
    });
    part("paper").addEventListener("change", () => { part("own-paper").hidden = value("paper") !== ""; });
    part("margins").addEventListener("change", () => { part("own-margins").hidden = value("margins") !== "own"; });
    part("printer").addEventListener("change", showPrinter);
    part("no-file").addEventListener("click", () => {
      /** @type {HTMLInputElement} */ (part("printer")).value = "";
      showPrinter();
      part("printer").focus();
    });
    showPrinter();
    part("layout").addEventListener("submit", (event) => {
      event.preventDefault();
      busy("now", "lay", "laying", lay);
    });
    part("publish").addEventListener("submit", (event) => {
      event.preventDefault();
      busy("kit-now", "make-kit", "making", makeKit);
    });
    part("stop").addEventListener("click", stop);
    window.addEventListener("beforeunload", (event) => {
      if (text.value !== saved)
        event.preventDefault();
    });
  }

  /** @param {string} id @param {string} set @param {string} shown */
  function addOption(id, set, shown) {
    const option = /** @type {HTMLOptionElement} */ (element("option", shown));
    option.value = set;
    part(id).append(option);
  }

  async function begin() {
    // Without the script beside it, the page keeps the words that stand there.
    if (!("paviorDesk" in globalThis) || !canBegin())
      return;
    part("state").textContent = say("loading");
    try {
      const opened = await hand.open();
      papers = opened.papers;
      for (const { name } of papers)
        addOption("paper", name, name);
      addOption("paper", "", say("other"));
      for (const one of opened.languages)
        addOption("language", one.code, one.name);
      /** @type {HTMLSelectElement} */ (part("paper")).value = "A4";
      /** @type {HTMLSelectElement} */ (part("language")).value = document.documentElement.lang;
    } catch (error) {
      part("state").textContent = faultOf(error);
      return;
    }
    for (const name of Object.keys(hand.script().texts ?? {}))
      addOption("beginning", name, name.replace(/\.course$/, "").replace(/^./, (c) => c.toUpperCase()));
    part("state").textContent = "";
    part("desk").hidden = false;
    listen();
    await changed();
    checker();
  }

  begin();
})();
