// Runs every browser test against a server that is up; names every one that failed.
import { start } from "./support.mjs";

const NAMES = ["plan", "without_script", "batch", "operate", "people", "pages"];
const only = process.argv.slice(2);
const browser = await start();
let failed = 0;
for (const name of NAMES.filter((n) => only.length === 0 || only.includes(n))) {
  const began = Date.now();
  try {
    await (await import(`./${name}.mjs`)).run(browser);
    console.log(`ok     ${((Date.now() - began) / 1000).toFixed(1)} s  ${name}`);
  } catch (error) {
    failed += 1;
    console.log(`FAILED ${name}: ${error.stack}`);
  }
}
await browser.close();
process.exit(failed === 0 ? 0 : 1);
