// What every browser test uses. The packages lie beside the built program, never in the repository.
import { createRequire } from "node:module";
import { readFileSync, mkdirSync } from "node:fs";
import { join } from "node:path";

const need = createRequire(join(process.env.BROWSER_MODULES, "package.json"));
export const { chromium } = need("playwright-core");
const axeSource = readFileSync(need.resolve("axe-core/axe.min.js"), "utf8");

export const base = process.env.SITE.replace(/\/$/, "");
const shots = process.env.SHOTS;
mkdirSync(shots, { recursive: true });

export const SIZES = [
  { name: "phone", width: 390, height: 844 },
  { name: "tablet", width: 820, height: 1180 },
  { name: "desktop", width: 1280, height: 800 },
];

export function is(condition, message) {
  if (!condition) throw new Error(message);
}

export async function start() {
  return chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
}

// A browser of its own cookies. Every message on its console and every failed script is a fault.
export async function visitor(browser, size, options = {}, site = base) {
  const context = await browser.newContext({
    viewport: { width: size.width, height: size.height },
    hasTouch: size.width < 1000,
    locale: "en-GB",
    ...options,
  });
  const page = await context.newPage();
  const faults = [];
  page.on("pageerror", (error) => faults.push(String(error)));
  page.on("console", (message) => {
    const expected = /status of (4\d\d|503)/.test(message.text()) || /ERR_FAILED|ERR_INTERNET/.test(message.text());
    if (message.type() === "error" && !expected) faults.push(message.text());
  });
  page.on("request", (request) => {
    if (!request.url().startsWith(site) && !request.url().startsWith("data:")) faults.push("asks " + request.url());
  });
  return { context, page, faults };
}

export async function settled(page) {
  await page.waitForLoadState("load");
  await page.waitForFunction(() => {
    const result = document.getElementById("result");
    return !result || (result.getAttribute("aria-busy") === "false" && !result.querySelector(".waiting, [data-band=missing]"));
  }, null, { timeout: 30000 });
}

// Presses something that sends an entry: the script sends it and then leads on.
export async function send(page, button) {
  await Promise.all([page.waitForEvent("load"), page.click(button)]);
}

export async function shot(page, name, full = false) {
  await page.screenshot({ path: join(shots, name + ".png"), fullPage: full });
}

// WCAG 2.2 A and AA and best practice, as far as a program can tell.
export async function accessible(page, where) {
  const { violations } = await page.evaluate(async (source) => {
    if (!window.axe) (0, eval)(source);
    return window.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    });
  }, axeSource);
  const said = violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.html).join(" | ")}`);
  is(said.length === 0, `${where}: ${said.join("\n    ")}`);
}

// No sideways scrolling of the page; things to press of 12 mm (45 px) but links inside sentences.
export async function fits(page, where) {
  const { over, small } = await page.evaluate(() => {
    const seen = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length > 0;
    const press = [...document.querySelectorAll("button, a.button, select, summary, nav a, .shelf a, .doors a, input:not([type=hidden])")];
    const small = press.filter(seen).filter((e) => {
      const box = e.getBoundingClientRect();
      return box.height < 45 || box.width < 45;
    });
    return {
      over: document.documentElement.scrollWidth - document.documentElement.clientWidth,
      small: small.map((e) => e.outerHTML.slice(0, 120)),
    };
  });
  is(over <= 0, `${where}: ${over} px too wide`);
  is(small.length === 0, `${where}: too small to press: ${small.join(" | ")}`);
}
