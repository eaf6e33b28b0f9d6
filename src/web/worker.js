// @ts-check
/// <reference lib="webworker" />
// The worker: holds the module (src/web/face.c), inspects pictures one after the other, and tells the page what came
// out. It stands behind memory.js. src/web/embedded/check.js is the other end.

/**
 * @typedef {{verdict: number, label: string, sheet: string, plan: number, finer: boolean, answer: string, advice: string,
 *            code: string, steps: string, decoded: boolean}} Picture
 * @typedef {{name: string, text: string}} Given a plan
 */

(function () {
  "use strict";

  let face = 0;

  function refusal() {
    return new Refusal(textAt(wasm._face_said(face)) || "out of memory");
  }

  let plans = 0;

  /** One more, of the kit or of a paper that it lacks: its paper, its fingerprint, and the mat's sheets, none of a proof
   *  page. @param {Given} given */
  function plan(given) {
    const text = new TextEncoder().encode(given.text), name = putText(given.name), at = put(text);
    const good = wasm._face_plan(face, at, text.length, name);
    wasm._free(at);
    wasm._free(name);
    if (!good)
      throw refusal();
    const sheets = [], i = plans++;
    for (let k = 0, sheet; (sheet = wasm._face_plan_sheet(face, i, k)) !== 0; k++)
      sheets.push(textAt(sheet));
    return { paper: textAt(wasm._face_plan_paper(face, i)), kit: textAt(wasm._face_plan_kit(face, i)), sheets };
  }

  /** @param {{module: ArrayBuffer | Uint8Array, language: string, plans: Given[]}} asked */
  async function open(asked) {
    await openModule(asked.module);
    const language = putText(asked.language);
    face = wasm._face_open(language);
    wasm._free(language);
    if (face === 0)
      throw new Error("out of memory");
    return { plans: asked.plans.map(plan) };
  }

  /** Of a kind of file that pavior leaves to the browser: HEIC and AVIF. @param {Uint8Array} bytes */
  function isForeign(bytes) {
    return String.fromCharCode(...bytes.subarray(4, 8)) === "ftyp";
  }

  /** As the browser decodes it, or as it is where the browser can't either. @param {Uint8Array<ArrayBuffer>} bytes */
  async function decoded(bytes) {
    try {
      const picture = await createImageBitmap(new Blob([bytes]));
      const canvas = new OffscreenCanvas(picture.width, picture.height);
      const context = /** @type {OffscreenCanvasRenderingContext2D} */ (canvas.getContext("2d"));
      context.drawImage(picture, 0, 0);
      picture.close();
      return new Uint8Array(await (await canvas.convertToBlob({ type: "image/png" })).arrayBuffer());
    } catch {
      return null;
    }
  }

  /** @param {number} i @param {boolean} foreign @returns {Picture} */
  function picture(i, foreign) {
    const verdict = wasm._face_verdict(face, i);
    return {
      verdict, label: textAt(wasm._face_label(face, i)),
      sheet: textAt(wasm._face_sheet(face, i)), plan: wasm._face_of(face, i),
      finer: Boolean(wasm._face_asks_finer(face, i)), answer: textAt(wasm._face_answer(face, i)),
      advice: textAt(wasm._face_advice(face, i)), steps: taken(wasm._face_steps(face, i)),
      // Nobody hands in the code of a sheet that isn't true. And it is of the file's bytes: of foreign ones none were measured.
      code: foreign || verdict !== 0 ? "" : taken(wasm._face_code(face, i)), decoded: foreign,
    };
  }

  /** @param {{bytes: ArrayBuffer, name: string, opened: string, files: number, scanner: number,
   *          readings: [string, number][]}} asked `opened`: its name where the browser has decoded it */
  async function inspect(asked) {
    const given = new Uint8Array(asked.bytes), own = isForeign(given) ? await decoded(given) : null;
    const bytes = own ?? given, name = own !== null ? asked.opened : asked.name;
    const before = wasm._face_count(face), called = putText(name), at = put(bytes);
    wasm._face_scanner(face, asked.scanner);
    for (const [marks, mm] of asked.readings)
      wasm._face_reading(face, marks.charCodeAt(0), marks.charCodeAt(1), mm);
    const n = wasm._face_inspect(face, at, bytes.length, called, asked.files);
    wasm._free(at);
    wasm._free(called);
    if (n === 0)
      throw refusal();
    return { pictures: Array.from({ length: n }, (_, k) => picture(before + k, own !== null)),
             memory: wasm.HEAPU8.length };
  }

  function report() {
    const html = taken(wasm._face_html(face)), json = html !== "" ? taken(wasm._face_json(face)) : "";
    if (json === "")
      throw refusal();
    return { html, json };
  }

  serve({ open, plan, inspect, report, clear: () => wasm._face_clear(face) });
})();
