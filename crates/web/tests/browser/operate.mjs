// The server goes away while somebody enters: nothing is lost, nothing stands twice, and the page says where each entry is.
import { SIZES, accessible, base, fits, is, send, settled, shot, visitor } from "./support.mjs";

async function batch(page) {
  await page.goto(base + "/setup");
  await page.fill("#f-person", "Ana Ruiz");
  await page.fill("#f-establishment", "Valley Workshop");
  await page.fill("#f-place", "Creamery Lane 3");
  await page.fill("#f-zone", "America/Denver");
  await page.click("button.go");
  await page.goto(base + "/plan?product=apple&load.amount=35&units=si");
  await settled(page);
  await page.click("text=Start a batch");
  await page.fill("#f-lot", "Q-0001");
  await page.click("button.go");
  return page.url();
}

async function note(page, text) {
  if (!(await page.isVisible("#f-note"))) await page.click("summary:has-text('Note')");
  await page.fill("#f-note", text);
  await page.click("form:has(#f-note) button:has-text('Save')");
}

export async function run(browser) {
  const { context, page, faults } = await visitor(browser, SIZES[1]);
  const url = await batch(page);
  await send(page, "button:has-text('Done')");

  // Three entries find no server.
  await context.setOffline(true);
  for (const text of ["first", "second", "third"]) {
    await note(page, text);
    await page.waitForFunction((t) => document.querySelector("#queue ol").textContent.includes(t), text);
    is((await page.inputValue("#f-note")) === "", "the form is free for the next one");
  }
  is((await page.textContent("#queue b")).includes("Waiting in this device: 3"), await page.textContent("#queue b"));
  is(!(await page.textContent("main")).includes("second"), "nothing is shown as entered that is not");
  await accessible(page, "queue");
  await fits(page, "queue");
  await shot(page, "queue");
  await page.waitForTimeout(15000);

  // Back again: each once, in order, with its own time.
  await context.setOffline(false);
  await page.waitForFunction(() => document.querySelector("main").textContent.includes("third"), null, { timeout: 40000 });
  await page.waitForSelector("#queue[hidden]", { state: "attached" });
  const answer = await (await context.request.get(url.replace("/batches", "/api/v1/batches"))).json();
  is(answer.notes.map((n) => n.text).join() === "first,second,third", JSON.stringify(answer.notes));
  const age = (Date.now() - Date.parse(answer.notes[0].at)) / 1000;
  is(age > 14 && age < 180, `the time of the entry, not of its delivery: ${age} s ago`);
  is(new Set(answer.notes.map((n) => n.entry)).size === 3, "each once");

  // The answer is lost, not the entry: sent again, it stands once.
  let lost = 0;
  await page.route("**/note", async (route) => {
    if (lost > 0) return route.continue();
    lost += 1;
    await route.fetch({ maxRedirects: 0 });
    return route.abort();
  });
  await note(page, "fourth");
  await page.waitForFunction(() => document.querySelector("main").textContent.includes("fourth"), null, { timeout: 40000 });
  await page.waitForSelector("#queue[hidden]", { state: "attached" });
  const again = await (await context.request.get(url.replace("/batches", "/api/v1/batches"))).json();
  is(again.notes.filter((n) => n.text === "fourth").length === 1, JSON.stringify(again.notes));
  is(lost === 1, "an answer was lost");

  // On this machine, as over https, a page opens again while the server is away.
  await page.goto(url);
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready.then(() => true));
  await page.goto(url);
  await context.setOffline(true);
  await page.goto(url);
  is((await page.textContent("main")).includes("fourth"), "the last seen page");
  await page.waitForSelector("#queue:not([hidden])");
  is((await page.textContent("#queue b")).includes("cannot be reached"), "and it says so");
  await note(page, "fifth");
  await page.waitForFunction(() => document.querySelector("#queue ol").textContent.includes("fifth"));
  await page.goto(url);
  await page.waitForFunction(() => document.querySelector("#queue ol").textContent.includes("fifth"));
  await context.setOffline(false);
  await page.waitForFunction(() => document.querySelector("main").textContent.includes("fifth"), null, { timeout: 40000 });
  is(faults.length === 0, faults.join("; "));
  await context.close();
}
