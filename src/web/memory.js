// @ts-check
/// <reference lib="webworker" />
// What both workers do alike: texts and bytes in and out of the module's memory, and answering the page. Each worker
// is emscripten's program, which gives paviorFace, then unpack.js, then this, then its own.

/**
 * What the module exports, behind an underscore.
 * @typedef {{HEAPU8: Uint8Array, [call: string]: any}} Wasm
 */

/** @type {Wasm} */
let wasm;

/** What was asked can't be done; the module is as it was, unlike after any other error. */
class Refusal extends Error {}

/** @param {number} at @returns {string} */
function textAt(at) {
  if (at === 0)
    return "";
  let end = at;
  while (wasm.HEAPU8[end] !== 0)
    end++;
  return new TextDecoder().decode(wasm.HEAPU8.subarray(at, end));
}

/** A text that was handed over. @param {number} at @returns {string} */
function taken(at) {
  const text = textAt(at);
  wasm._pv_free(at);
  return text;
}

/** Bytes in the module's memory, with a NUL behind them. @param {Uint8Array} bytes */
function put(bytes) {
  const at = wasm._malloc(bytes.length + 1);
  if (at === 0)
    throw new Refusal("out of memory");
  wasm.HEAPU8.set(bytes, at);
  wasm.HEAPU8[at + bytes.length] = 0;
  return at;
}

/** @param {string} text */
function putText(text) {
  return put(new TextEncoder().encode(text));
}

/** @param {ArrayBuffer | Uint8Array} packed */
async function openModule(packed) {
  // @ts-ignore emscripten's
  wasm = await paviorFace({ wasmBinary: unpacked(new Uint8Array(packed)) });
}

/** @param {{[work: string]: (asked: any) => any}} works */
function serve(works) {
  /** @param {MessageEvent} event */
  self.onmessage = async (event) => {
    const { id, work, asked } = event.data;
    try {
      const done = (await works[work](asked)) ?? {};
      // Files' bytes are handed over, not copied.
      postMessage({ id, done }, Object.values(done).flat().filter((one) => one instanceof ArrayBuffer));
    } catch (error) {
      postMessage({ id, failed: String(error instanceof Error ? error.message : error), sound: error instanceof Refusal });
    }
  };
}
