// A batch as it is run: plant, plan, start, acts done, readings, a wrong one, undo, a second browser, the day, the end.
import { SIZES, accessible, base, fits, is, send, settled, shot, visitor } from "./support.mjs";

export async function run(browser) {
  const { context, page, faults } = await visitor(browser, SIZES[1]);
  await page.goto(base + "/setup");
  is((await page.inputValue("#f-zone")).includes("/") || (await page.inputValue("#f-zone")) === "UTC", "the browser's zone is proposed");
  await page.fill("#f-person", "Ana Ruiz");
  await page.fill("#f-establishment", "Valley Workshop");
  await page.fill("#f-place", "Creamery Lane 3");
  await page.fill("#f-zone", "America/Denver");
  await accessible(page, "setup");
  await shot(page, "setup");
  await page.click("button.go");

  await page.goto(base + "/plan?product=beef_eye_of_round&load.amount=22&units=si");
  await settled(page);
  await page.click("text=Start a batch");
  await page.fill("#f-lot", "B-0412");
  await accessible(page, "start");
  await page.click("button.go");
  is((await page.textContent("h1")).startsWith("Load 20 trays"), "the first act is large");
  await shot(page, "batch-start");
  await send(page, "button:has-text('Done')");
  is((await page.textContent("h1")).startsWith("Vent"), "the next act");
  is((await page.textContent(".acts .past")).includes("Ana Ruiz"), "who did it stands beside it");

  // A second browser follows without being touched.
  const other = await visitor(browser, SIZES[0]);
  await other.page.goto(page.url());
  await page.click("summary:has-text('Weight of a tray')");
  await page.fill("#f-tray-place", "8");
  await page.fill("#f-tray", "2,95");
  await send(page, "form:has(#f-tray) button:has-text('Save')");
  is((await page.textContent("body")).includes("Tray 8 2.95 kg"), "the weight is read with a comma");
  await other.page.waitForSelector("text=Tray 8 2.95 kg");
  await fits(other.page, "batch phone");
  await accessible(other.page, "batch phone");
  await shot(other.page, "batch-phone", true);

  // A doubtful reading is asked about, with what was typed still there.
  await page.click("summary:has-text('Core temperature')");
  await page.fill("#f-core-place", "rear right");
  await page.fill("#f-core", "150");
  await page.click("form:has(#f-core) button:has-text('Save')");
  is((await page.textContent("main")).includes("150 °C or 150 °F"), "both readings are named");
  await accessible(page, "read back");
  await fits(page, "read back");
  await shot(page, "batch-read-back");
  await page.click("button:has-text('150 °F')");
  is((await page.textContent("body")).includes("Core rear right 65.6 °C"), "with its unit it is taken");
  await accessible(page, "batch");
  await fits(page, "batch tablet");
  await shot(page, "batch", true);

  // What if, and an interruption that still goes on.
  const batch = page.url();
  await page.goto(batch + "/what-if?what=stop");
  is((await page.textContent("h1")).startsWith("Stopping now would leave"), "what if I stop now");
  await accessible(page, "what if");
  await fits(page, "what if");
  await shot(page, "what-if", true);
  await page.goto(batch + "/interruption");
  await page.check("input[name=still]");
  await page.click("form:has(input[name=still]) button");
  is((await page.textContent(".floor")).includes("Wait"), "the floor is told to wait");
  await accessible(page, "interruption");
  await fits(page, "interruption");
  await shot(page, "interruption", true);
  await page.click("button:has-text('It is over')");
  await page.waitForSelector(".floor[data-word=hold]");
  await page.click("text=Corrective action");
  await accessible(page, "corrective action");
  await fits(page, "corrective action");
  await shot(page, "corrective-action", true);
  await page.goto(batch);

  // Undo.
  await page.click("li:has-text('Tray 8 2.95 kg') button:has-text('Undo')");
  is(!(await page.textContent("body")).includes("Tray 8 2.95 kg"), "the undo is done");

  // The day, in the dark, in Spanish.
  await page.goto(base + "/");
  await accessible(page, "day");
  await fits(page, "day");
  await shot(page, "day", true);
  await page.click("button[name=theme]");
  await page.click("button[name=language]");
  await accessible(page, "day dark");
  await shot(page, "day-es-dark", true);
  await page.click(".run");
  await accessible(page, "batch dark");
  await shot(page, "batch-es-dark", true);
  await page.click("summary:has-text('Terminar')");
  await page.fill("#f-why", "descargado");
  await page.click("form:has(#f-why) button");
  is((await page.textContent("h1")) === "La marcha terminó", "the end");
  await page.goto(base + "/batches?words=b-0412");
  is(await page.isVisible("text=B-0412"), "found by its lot");
  await accessible(page, "batches");
  is(faults.length === 0 && other.faults.length === 0, [...faults, ...other.faults].join("; "));
  await other.context.close();
  await context.close();
}
