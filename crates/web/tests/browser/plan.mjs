// A newcomer plans: types as hands type, watches the result follow, puts two plans side by side, prints the card.
import { SIZES, base, is, settled, shot, visitor } from "./support.mjs";

const headline = (page) => page.textContent("#result h1");

export async function run(browser) {
  const { context, page, faults } = await visitor(browser, SIZES[1]);
  await page.goto(base + "/");
  await page.click("main a[href='/plan']");
  await settled(page);
  const first = await headline(page);
  is(/Dial \d/.test(first), `a plan at once: ${first}`);
  is(await page.isVisible("text=Early"), "the band comes by itself");

  // The result follows the entry; the entry is read back.
  await page.selectOption("#f-product", "beef_eye_of_round");
  await page.waitForFunction((old) => document.querySelector("#result h1").textContent !== old, first);
  await page.fill("#f-load-amount", "48,5 lb");
  await page.fill("#f-start-at", "640");
  await page.waitForFunction(() => document.querySelector("[data-note='start.at']").textContent === "06:40");
  await settled(page);
  is((await page.textContent(".subject")).includes("22.0 kg"), "the load is read with its own unit");
  is((await page.textContent(".acts time")).includes("06:40"), "the start is read");

  // What cannot be read is named beside its entry and in the result, in a word and by a mark for machines.
  await page.fill("#f-load-amount", "a lot");
  await page.waitForSelector("#f-load-amount[aria-invalid=true]");
  is((await page.textContent("[data-note='load.amount']")).includes("cannot be read"), "the fault stands beside the entry");
  await shot(page, "entry-wrong");
  await page.fill("#f-load-amount", "22");
  await page.waitForSelector("#f-load-amount:not([aria-invalid])");
  await settled(page);

  // A choice that changes the form keeps the hand where it was, and the address holds the whole plan.
  await page.focus("#f-target-kind");
  await page.selectOption("#f-target-kind", "water_activity");
  await page.waitForSelector("#f-target-water_activity");
  is((await page.evaluate(() => document.activeElement.id)) === "f-target-kind", "focus stays");
  await settled(page);
  const before = await headline(page);
  is(page.url().includes("load.amount=22"), page.url());
  await page.reload();
  await settled(page);
  is((await headline(page)) === before, "the address holds the plan");

  // Units switch without changing the plan.
  await page.click("button[name=units]");
  await settled(page);
  is((await page.textContent(".subject")).includes("48.5 lb"), "the same load in pounds");
  is((await headline(page)) === before, "the same plan in other units");
  await page.click("button[name=units]");
  await settled(page);

  // Two plans side by side.
  await page.click("text=Put another plan beside it");
  await page.waitForSelector("text=A and B are the same");
  await page.fill("#f-load-amount", "11");
  await page.waitForSelector("text=Go on with B");
  await shot(page, "beside-live", true);
  await page.click("text=Go on with B");
  await settled(page);
  is((await page.textContent(".subject")).includes("11.0 kg"), "B goes on");

  // The card is one sheet.
  const card = await page.getAttribute("a:has-text('Card to print')", "href");
  if (card.startsWith("/plan/card.pdf")) {
    const answer = await context.request.get(base + card, { timeout: 60000 });
    is(answer.headers()["content-type"] === "application/pdf", "the card is a PDF: " + answer.url());
    is((await answer.body()).subarray(0, 5).toString() === "%PDF-", "it begins as one");
  }
  await page.goto(base + card.replace("card.pdf", "card"));
  is(await page.isVisible(".acts"), "and a page");

  // By keyboard alone: the first stop skips the head.
  await page.goto(base + "/library");
  await page.keyboard.press("Tab");
  is((await page.evaluate(() => document.activeElement.className)) === "skip", "skip link first");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  is(await page.evaluate(() => document.querySelector("main").contains(document.activeElement)), "then the content");
  is(faults.length === 0, faults.join("; "));

  // A page that loses the server says so and keeps what was typed.
  await page.goto(base + "/plan");
  await settled(page);
  await context.setOffline(true);
  await page.fill("#f-load-amount", "31");
  await page.waitForSelector("#lost:not([hidden])");
  is((await page.inputValue("#f-load-amount")) === "31", "the entry is still there");
  await shot(page, "lost");
  await context.setOffline(false);
  await page.fill("#f-load-amount", "32");
  await page.waitForSelector("#lost[hidden]", { state: "attached" });
  await context.close();
}
