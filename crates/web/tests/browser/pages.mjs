// Every page, both languages, three widths, both themes: nothing sticks out, everything can be pressed, the checker finds nothing.
import { SIZES, accessible, base, fits, is, settled, shot, visitor } from "./support.mjs";

const PAGES = [
  ["start", "/"],
  ["plan", "/plan?product=beef_eye_of_round&load.amount=22&load.trays=18&staff.hours=05:45-22:00"],
  ["plan-wrong", "/plan?product=kale&load.amount=many&go=1"],
  ["plan-stages", "/plan?product=apple&by_hand=1"],
  ["beside", "/plan?product=apple&load.amount=20&units=si&go=1&beside=product%3Dapple%26load.amount%3D35%26units%3Dsi"],
  ["card", "/plan/card?product=apple&load.amount=35&units=si"],
  ["library", "/library"],
  ["product", "/library/products/beef_eye_of_round"],
  ["cabinet", "/library/cabinets/north"],
  ["air", "/air?dry_bulb=71C&wet_bulb=54C&want_rh=50&volume=1.6"],
  ["upkeep", "/upkeep"],
  ["nowhere", "/nowhere"],
];

export async function run(browser) {
  for (const size of SIZES) {
    for (const [language, units, theme] of [["en", "us", "day"], ["es", "si", "dark"]]) {
      const { context, page, faults } = await visitor(browser, size);
      await context.addCookies(
        Object.entries({ language, units, theme }).map(([name, value]) => ({ name, value, url: base })),
      );
      for (const [name, path] of PAGES) {
        const where = `${name} ${language} ${size.name}`;
        await page.goto(base + path);
        await settled(page);
        await shot(page, `${name}-${language}-${size.name}`, true);
        is((await page.getAttribute("html", "lang")) === language, `${where}: language`);
        await fits(page, where);
        // The card is a document of its own, whose policy lets no checker in.
        if (name !== "card") await accessible(page, where);
        if (name === "plan" && size.name !== "phone") {
          const px = await page.$eval("h1", (e) => parseFloat(getComputedStyle(e).fontSize));
          is(px >= 48, `${where}: main number of ${px} px`);
        }
        is(faults.length === 0, `${where}: ${faults.join("; ")}`);
      }
      await context.close();
    }
  }
}
