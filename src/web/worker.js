// @ts-check
/// <reference lib="webworker" />
// The worker: holds the module (src/web/face.c), inspects pictures one after the other, and tells the page what came
// out. It stands behind memory.js. src/web/embedded/check.js is the other end.

/**
 * @typedef {{verdict: number, label: string, sheet: string, answer: string, advice: string, code: string,
 *            steps: string, decoded: boolean}} Picture
 */

(function () {
  "use strict";

  let page = 0;

  /** @returns {Error} */
  function refusal() {
    return new Error(textAt(face._face_said(page)) || "out of memory");
  }

  /** @param {{module: ArrayBuffer | Uint8Array, language: string, plans: {name: string, text: string}[]}} asked */
  async function open(asked) {
    await openModule(asked.module);
    const language = putText(asked.language);
    page = face._face_open(language);
    face._free(language);
    if (page === 0)
      throw new Error("out of memory");
    for (const plan of asked.plans) {
      const text = new TextEncoder().encode(plan.text);
      const name = putText(plan.name), at = put(text);
      const good = face._face_plan(page, at, text.length, name);
      face._free(at);
      face._free(name);
      if (!good)
        throw refusal();
    }
    return { version: textAt(face._face_version()) };
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
    return {
      verdict: face._face_verdict(page, i), label: textAt(face._face_label(page, i)),
      sheet: textAt(face._face_sheet(page, i)), answer: textAt(face._face_answer(page, i)),
      advice: textAt(face._face_advice(page, i)), steps: taken(face._face_steps(page, i)),
      // A code is of the file's bytes, and those were not measured.
      code: foreign ? "" : taken(face._face_code(page, i)), decoded: foreign,
    };
  }

  /** @param {{bytes: ArrayBuffer, name: string, opened: string, files: number, scanner: number,
   *          readings: [string, number][]}} asked `opened`: its name where the browser has decoded it */
  async function inspect(asked) {
    const given = new Uint8Array(asked.bytes), own = isForeign(given) ? await decoded(given) : null;
    const bytes = own ?? given, name = own !== null ? asked.opened : asked.name;
    face._face_scanner(page, asked.scanner);
    for (const [marks, mm] of asked.readings)
      face._face_reading(page, marks.charCodeAt(0), marks.charCodeAt(1), mm);
    const before = face._face_count(page), called = putText(name), at = put(bytes);
    const n = face._face_inspect(page, at, bytes.length, called, asked.files);
    face._free(at);
    face._free(called);
    if (n === 0)
      throw refusal();
    return { pictures: Array.from({ length: n }, (_, k) => picture(before + k, own !== null)),
             memory: face.HEAPU8.length };
  }

  function report() {
    const html = taken(face._face_html(page));
    if (html === "")
      throw refusal();
    return { html, json: taken(face._face_json(page)) };
  }

  serve({ open, inspect, report, clear: () => face._face_clear(page) });
})();
