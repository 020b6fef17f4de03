// Without script: reading, entry, language, stages by hand.
import { SIZES, base, is, shot, visitor } from "./support.mjs";

export async function run(browser) {
  const { context, page, faults } = await visitor(browser, SIZES[0], { javaScriptEnabled: false });
  await page.goto(base + "/plan");
  is(await page.isVisible("button.go"), "the form has its button");
  await page.selectOption("#f-product", "kale");
  await page.fill("#f-load-amount", "6");
  await page.click("text=Show the plan");
  is(/Dial \d|Switch off/.test(await page.textContent("#result h1")), "the button gives the plan");
  is((await page.inputValue("#f-load-amount")) === "6", "the form keeps the entry");
  await page.click("button[name=language]");
  is((await page.getAttribute("html", "lang")) === "es", "the language changes");
  is(page.url().includes("load.amount=6"), "on the same page");
  await shot(page, "without-script");
  await page.click("summary:has-text('Etapas')");
  await page.click("button[name=by_hand]");
  await page.click("button[name=add_stage]");
  is(await page.isVisible("#f-stage-2-set_point"), "a second stage");
  await page.fill("#f-load-amount", "mucho");
  await page.click("button.go");
  is((await page.textContent("[data-note='load.amount']")).includes("No se puede leer"), "the fault is named");
  is(faults.length === 0, faults.join("; "));
  await context.close();
}
