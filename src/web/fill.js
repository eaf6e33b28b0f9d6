// Runs a module under node, as a page's worker would. As a program it fills the page that draws courses, for `make web`;
// for tests it gives the same `ask` as the pages have.
// Usage: fill.js MODULE.js LANGUAGE PAGE.html
"use strict";
const fs = require("fs");
const vm = require("vm");

/** @param {string} path of the module's script @param {string} name of what it sets @param {object} asked of "open" */
async function openScript(path, name, asked) {
  const here = { require, process, console, TextDecoder, TextEncoder, WebAssembly, performance,
                 setTimeout, clearTimeout, __filename: path, __dirname: "", Uint8Array, ArrayBuffer };
  here.globalThis = here.self = here;
  vm.createContext(here);
  vm.runInContext(fs.readFileSync(path, "utf8"), here);
  const { worker, module, texts } = here[name];
  let answered = () => {};
  here.postMessage = (answer) => answered(answer);
  vm.runInContext(worker, here);
  const ask = async (work, asked = {}) => {
    const answer = new Promise((done) => { answered = done; });
    here.onmessage({ data: { id: 1, work, asked } });
    const { done, failed } = await answer;
    if (failed !== undefined)
      throw new Error(failed);
    return done;
  };
  const opened = await ask("open", { module: Buffer.from(module, "base64"), ...asked });
  return { ask, texts, opened };
}

/** @param {string} path of course-module.js @param {string} language */
const openDesk = (path, language) => openScript(path, "paviorDesk", { language });

/** @param {string} path of check-module.js @param {string} language @param {{name: string, text: string}[]} plans */
const openFace = (path, language, plans) => openScript(path, "paviorModule", { language, plans });

async function main([path, language, out]) {
  const { ask, texts } = await openDesk(path, language);
  const page = await ask("page", { text: Object.values(texts)[0] });
  if (page.html === "")
    throw new Error(JSON.stringify(page.said));
  fs.writeFileSync(out, page.html);
}

module.exports = { openDesk, openFace };
if (require.main === module)
  main(process.argv.slice(2));
