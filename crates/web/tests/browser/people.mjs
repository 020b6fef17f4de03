// On a network: the first account, a tile and a PIN for the floor, a way out. Needs the server with accounts.
import { SIZES, accessible, fits, is, shot, visitor } from "./support.mjs";

export async function run(browser) {
  const first = process.env.FIRST;
  const site = new URL(first).origin;
  const { context, page, faults } = await visitor(browser, SIZES[1], {}, site);
  await page.goto(site + "/plan");
  is(page.url().includes("/sign-in"), "nobody is let in");
  await accessible(page, "sign-in");
  await page.goto(first);
  await accessible(page, "first");
  await page.fill("#f-full-name", "Rosa Vega");
  await page.fill("#f-secret", "long enough words");
  await page.click("button.go");
  await page.fill("#f-person", "Rosa Vega");
  await page.fill("#f-establishment", "Valley Workshop");
  await page.fill("#f-place", "Creamery Lane 3");
  await page.fill("#f-zone", "America/Denver");
  await page.click("button.go");
  await page.click("text=People");
  await page.fill("#f-full-name", "Luz Mar");
  await page.fill("section #f-secret", "7392");
  await page.click("button.go");
  is((await page.textContent(".runs")).includes("Luz Mar"), "added");
  await accessible(page, "people");
  await fits(page, "people");
  await shot(page, "people", true);
  await page.click("text=Sign out");
  await page.click(".tiles a:has-text('Luz Mar')");
  await accessible(page, "pin");
  await shot(page, "pin");
  await page.fill("#f-secret", "0000");
  await page.click("button.go");
  is((await page.textContent("#n-secret")).includes("not right"), "a wrong PIN is refused");
  await page.fill("#f-secret", "7392");
  await page.click("button.go");
  is(await page.isVisible("text=Sign out Luz Mar"), "the right one is let in");
  is(!(await page.isVisible("text=People")), "an operator manages nobody");
  is(faults.length === 0, faults.join("; "));
  await context.close();
}
