// @ts-check
/// <reference lib="webworker" />
// The worker of the page that draws courses: holds the module (src/web/desk.c) with one course on the desk. It stands
// behind memory.js. src/web/embedded/course.js is the other end, and has two: one draws, the other reviews and lays.

/**
 * @typedef {{severity: number, line: number, column: number, length: number, message: string, hint: string}} Said
 * @typedef {{name: string, cell: number[]}} Sheet
 */

(function () {
  "use strict";

  let desk = 0;

  /** What the last work found. @returns {Said[]} */
  function said() {
    return Array.from({ length: wasm._desk_said(desk) }, (_, i) => ({
      severity: wasm._desk_said_severity(desk, i), line: wasm._desk_said_line(desk, i),
      column: wasm._desk_said_column(desk, i), length: wasm._desk_said_length(desk, i),
      message: textAt(wasm._desk_said_message(desk, i)), hint: textAt(wasm._desk_said_hint(desk, i)),
    }));
  }

  /** Why nothing came of it. Without a word of its own, memory ran out. @param {Said[]} why */
  function refused(why) {
    if (!why.some((one) => one.severity === 2))
      throw new Error("out of memory");
    return { good: false, said: why };
  }

  /** Calls with texts that live as long as the call. @template T @param {string[]} texts
   * @param {(...at: number[]) => T} call @returns {T} */
  function withTexts(texts, call) {
    const at = texts.map(putText);
    try {
      return call(...at);
    } finally {
      at.forEach((one) => wasm._free(one));
    }
  }

  /** @param {{module: ArrayBuffer | Uint8Array, language: string}} asked */
  async function open(asked) {
    await openModule(asked.module);
    desk = withTexts([asked.language], (language) => wasm._desk_open(language));
    if (desk === 0)
      throw new Error("out of memory");
    const papers = [], languages = [];
    for (let i = 0; wasm._desk_paper(i) !== 0; i++)
      papers.push({ name: textAt(wasm._desk_paper(i)), width: wasm._desk_paper_width(i), height: wasm._desk_paper_height(i) });
    for (let i = 0; wasm._desk_language(i) !== 0; i++)
      languages.push({ code: textAt(wasm._desk_language(i)), name: textAt(wasm._desk_language_name(i)) });
    return { version: textAt(wasm._desk_version()), papers, languages };
  }

  /** Reads a course. @param {{text: string}} asked */
  function course(asked) {
    const bytes = new TextEncoder().encode(asked.text), at = put(bytes);
    const good = wasm._desk_course(desk, at, bytes.length, 0) !== 0;
    wasm._free(at);
    return { good, said: said(), name: textAt(wasm._desk_name(desk)), width: wasm._desk_width(desk),
             height: wasm._desk_height(desk) };
  }

  /** Reads a course and draws it. @param {{text: string, run: boolean}} asked */
  function draw(asked) {
    const read = course(asked);
    const svg = read.good ? taken(wasm._desk_drawing(desk, asked.run)) : "";
    return svg !== "" ? { ...read, said: said(), svg } : refused(said());
  }

  /** `read`: whether there was a course to review. @param {{text: string}} asked */
  function review(asked) {
    const read = course(asked);
    if (!read.good)
      return { ...refused(read.said), read: false };
    const json = taken(wasm._desk_review(desk, false)), told = said();
    const text = json !== "" ? taken(wasm._desk_review(desk, true)) : "";
    return text !== "" ? { good: true, said: told, read: true, json, text } : { ...refused(said()), read: true };
  }

  /** @param {[string, string][]} choices @returns {Said[]} what was refused */
  function choose(choices) {
    wasm._desk_usual(desk);
    return choices.flatMap(([name, value]) =>
      withTexts([name, value], (n, v) => wasm._desk_choose(desk, n, v)) !== 0 ? [] : refused(said()).said);
  }

  /** Reads a course and takes the choices; or what is wrong with them. @param {{text: string, choices: [string, string][]}} asked */
  function begun(asked) {
    const read = course(asked), wrong = read.good ? choose(asked.choices) : read.said;
    return read.good && wrong.length === 0 ? null : refused(wrong);
  }

  /** @param {number} at @param {number} size a copy, which is handed over */
  function copied(at, size) {
    return wasm.HEAPU8.slice(at, at + size).buffer;
  }

  /** @param {{text: string, choices: [string, string][]}} asked */
  function lay(asked) {
    const wrong = begun(asked);
    if (wrong !== null)
      return wrong;
    if (wasm._desk_lay(desk) === 0)
      return refused(said());
    const told = said(), n = wasm._desk_sheets(desk);
    return {
      good: true, said: told, identity: textAt(wasm._desk_kit_identity(desk)),
      paper: textAt(wasm._desk_laid_paper(desk)), minutes: wasm._desk_minutes(desk),
      sheets: Array.from({ length: n }, (_, i) => ({
        name: textAt(wasm._desk_sheet(desk, i)), cell: [0, 1, 2, 3].map((side) => wasm._desk_cell(desk, i, side)),
      })),
    };
  }

  /** The files of what was laid. */
  function files() {
    const plan = taken(wasm._desk_plan(desk));
    const n = plan !== "" ? wasm._desk_draw(desk) : 0;
    if (n === 0)
      return refused(said());
    return { good: true, said: said(), plan, memory: wasm.HEAPU8.length,
             pdfs: Array.from({ length: n }, (_, i) => copied(wasm._desk_pdf(desk, i), wasm._desk_pdf_size(desk, i))) };
  }

  /** @param {{text: string, choices: [string, string][], folder: string, checker: string, maker: string}} asked */
  function kit(asked) {
    const wrong = begun(asked);
    if (wrong !== null)
      return wrong;
    const scripts = [asked.checker, asked.maker].map((text) => new TextEncoder().encode(text));
    const at = scripts.map((bytes) => bytes.length > 0 ? put(bytes) : 0);
    wasm._desk_scripts(desk, at[0], scripts[0].length, at[1], scripts[1].length);
    const size = withTexts([asked.folder], (folder) => wasm._desk_kit(desk, folder));
    wasm._desk_scripts(desk, 0, 0, 0, 0);
    if (size === 0)
      return refused(said());
    return { good: true, said: said(), zip: copied(wasm._desk_kit_bytes(desk), size), memory: wasm.HEAPU8.length };
  }

  /** For the build. @param {{text: string}} asked */
  function page(asked) {
    course(asked);
    return { html: taken(wasm._desk_page(desk)), said: said() };
  }

  serve({ open, draw, review, lay, files, kit, page });
})();
