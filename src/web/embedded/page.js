// @ts-check
// What the pages that inspect sheets and that draw courses do alike: words, signs, saving, and asking a worker. It
// stands before check.js and course.js.
"use strict";

/**
 * @typedef {Record<string, string | number>} Filling
 * @typedef {{worker: string, module: string, texts?: Record<string, string>}} Script as pack.py writes it
 */

/** @template {HTMLElement} T @param {string} id @returns {T} */
function part(id) {
  return /** @type {T} */ (document.getElementById(id));
}

/** Words of the page, in its language. @param {string} name @param {Filling} [with_] */
function say(name, with_ = {}) {
  const words = /** @type {HTMLTemplateElement} */ (part("words")).content;
  const said = words.querySelector(`[data-word=${name}]`)?.textContent ?? "";
  return said.replace(/\$([a-z])/g, (all, letter) => String(with_[letter] ?? all));
}

/** @param {string} tag @param {string} content @param {string} [kind] */
function element(tag, content, kind) {
  const made = document.createElement(tag);
  made.textContent = content;
  if (kind !== undefined)
    made.className = kind;
  return made;
}

/** @param {string} tag @param {Filling} attributes @param {...Node} within */
function svg(tag, attributes, ...within) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, set] of Object.entries(attributes))
    made.setAttribute(name, String(set));
  made.append(...within);
  return made;
}

/** @param {string} kind */
function sign(kind) {
  return svg("svg", { class: `v ${kind}`, viewBox: "0 0 20 20", "aria-hidden": "true" }, svg("use", { href: `#${kind}` }));
}

/** As a file of that name. @param {string} name @param {string} type @param {string} text */
function saveAs(name, type, text) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.click();
  window.setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

/** @param {unknown} error */
function messageOf(error) {
  return error instanceof Error ? error.message : String(error);
}

/** Whether the device was at fault, not what was asked. @param {string} message */
function isMemory(message) {
  return /memory|allocation|unreachable|out of bounds/i.test(message);
}

/** Whether this browser has what a module needs; where not, the page says so. */
function canBegin() {
  // A module with one function, of the SIMD that ours has: returns sixteen bytes.
  const simd = [0, 97, 115, 109, 1, 0, 0, 0, 1, 5, 1, 96, 0, 1, 123, 3, 2, 1, 0, 10, 8, 1, 6, 0, 65, 0, 253, 15, 11];
  const lacks = ["WebAssembly", "Worker"].find((name) => !(name in globalThis)) ??
                (WebAssembly.validate(Uint8Array.from(simd)) ? undefined : "WebAssembly SIMD");
  part("wait").hidden = lacks === undefined;
  if (lacks !== undefined)
    part("wait").replaceChildren(element("p", say("old", { x: lacks })));
  return lacks === undefined;
}

/** The worker answered so, and its module is as it was. */
class Declined extends Error {}

/** A worker with its module, which answers one after the other, and comes back after it was dropped. */
class Hand {
  /** @param {string} name of what the module's script sets @param {object} [asked] of the worker as it opens
   * @param {() => void} [dropped] hears that it was dropped */
  constructor(name, asked = {}, dropped = () => {}) {
    this.name = name;
    this.asked = asked;
    this.dropped = dropped;
    /** @type {Worker | null} */
    this.worker = null;
    this.posted = 0;
    /** @type {Map<number, {done: (what: any) => void, failed: (why: unknown) => void}>} */
    this.waiting = new Map();
    /** @type {Promise<any> | null} */
    this.opened = null;
  }

  /** @returns {Script} */
  script() {
    return Reflect.get(globalThis, this.name);
  }

  /** The worker goes, with all that it holds. Whoever waits hears why. @param {unknown} why */
  drop(why) {
    this.worker?.terminate();
    this.worker = this.opened = null;
    this.dropped();
    for (const one of this.waiting.values())
      one.failed(why);
    this.waiting.clear();
  }

  /** Of a worker that is open. @param {string} work @param {object} what @param {Transferable[]} [handed]
   * @returns {Promise<any>} */
  post(work, what, handed = []) {
    return new Promise((done, failed) => {
      if (this.worker === null)
        throw new Error("Worker");
      this.waiting.set(++this.posted, { done, failed });
      this.worker.postMessage({ id: this.posted, work, asked: what }, handed);
    });
  }

  /** What it opened with. @returns {Promise<any>} */
  open() {
    if (this.opened !== null)
      return this.opened;
    const { worker: program, module } = this.script();
    const packed = Uint8Array.from(atob(module), (c) => c.charCodeAt(0)).buffer;
    const address = URL.createObjectURL(new Blob([program], { type: "text/javascript" }));
    // A worker that ends without a word ran out of memory, but not before it has begun.
    let silent = "Worker";
    const worker = this.worker = new Worker(address);
    worker.onmessage = ({ data }) => {
      silent = "out of memory";
      const one = this.waiting.get(data.id);
      this.waiting.delete(data.id);
      if ("failed" in data)
        one?.failed(new (data.sound ? Declined : Error)(data.failed));
      else
        one?.done(data.done);
    };
    worker.onerror = (event) => {
      if (worker === this.worker)
        this.drop(new Error(event.message || silent));
    };
    this.opened = this.post("open", { module: packed, language: document.documentElement.lang, ...this.asked }, [packed])
      .finally(() => URL.revokeObjectURL(address));
    return this.opened;
  }
}
