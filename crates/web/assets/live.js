// Redraws results as inputs change. Everything works without this script, by the button of the form.
"use strict";

// Pages of batches follow what is entered elsewhere, but never under a hand that is typing.
(() => {
  const main = document.querySelector("main");
  const zone = document.querySelector("input[data-zone]");
  if (zone && zone.value === "") zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
  if (!main || !main.querySelector("[data-watch]")) return;

  const typing = () => [...main.querySelectorAll("input[type=text], textarea")].some((e) => e.value !== e.defaultValue);
  // A choice made a moment ago must not be taken back by a page drawn anew.
  let chosen = 0;
  main.addEventListener("change", () => { chosen = Date.now(); });
  // Twenty cabinets with loggers tell of something every moment: at most one renewal in five seconds.
  let last = 0;
  let waiting = 0;
  const soon = () => {
    if (waiting) return;
    waiting = setTimeout(() => { waiting = 0; renew(); }, Math.max(0, last + 5000 - Date.now()));
  };
  const renew = async () => {
    last = Date.now();
    if (Date.now() - chosen < 180000 || typing() || main.contains(document.activeElement) && document.activeElement.matches("input, textarea")) return;
    try {
      const response = await fetch(location.href, { headers: { accept: "text/html" } });
      if (!response.ok) return;
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      const open = [...main.querySelectorAll("details[open] > summary")].map((s) => s.textContent);
      main.replaceChildren(...page.querySelector("main").childNodes);
      for (const summary of main.querySelectorAll("details > summary")) {
        if (open.includes(summary.textContent)) summary.parentElement.open = true;
      }
    } catch (error) {
      // The next change or minute tries again.
    }
  };
  const source = new EventSource(main.querySelector("[data-watch]").dataset.watch);
  source.addEventListener("message", soon);
  setInterval(renew, 60000);
})();

(() => {
  const form = document.querySelector("form[data-live]");
  const result = document.getElementById("result");
  if (!form || !result) return;

  let timer = 0;
  let running = null;

  const query = (more) => {
    const data = new URLSearchParams();
    for (const [key, value] of new FormData(form)) if (value !== "") data.append(key, value);
    for (const [key, value] of Object.entries(more || {})) data.set(key, value);
    return data.toString();
  };

  // The answer is a fragment, or a page of which only the result is taken.
  const parts = (text) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    return page.getElementById("result") || page.body;
  };

  const placeNotes = () => {
    const said = new Map();
    for (const item of document.querySelectorAll("#notes li")) said.set(item.dataset.key, item);
    for (const place of form.querySelectorAll("[data-note]")) {
      const note = said.get(place.dataset.note);
      const text = note ? note.textContent : "";
      if (place.textContent !== text) place.textContent = text;
      if (note) place.dataset.kind = note.dataset.kind;
      else delete place.dataset.kind;
      const input = form.elements.namedItem(place.dataset.note);
      if (!input || !input.setAttribute) continue;
      if (note && note.dataset.kind === "fault") input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
  };

  const openFolds = () => new Set([...result.querySelectorAll("details[open] > summary")].map((s) => s.textContent));

  const ask = async (more, signal) => {
    const response = await fetch(form.dataset.live + "?" + query(more), { signal, headers: { accept: "text/html" } });
    const found = parts(await response.text());
    const open = openFolds();
    result.replaceChildren(...found.childNodes);
    for (const summary of result.querySelectorAll("details > summary")) {
      if (open.has(summary.textContent)) summary.parentElement.open = true;
    }
    placeNotes();
    const headline = result.querySelector("h1");
    document.getElementById("status").textContent = headline ? headline.textContent : "";
    document.getElementById("lost").hidden = true;
    return response.ok;
  };

  const draw = async () => {
    if (running) running.abort();
    const own = (running = new AbortController());
    result.setAttribute("aria-busy", "true");
    try {
      const good = await ask({}, own.signal);
      if (form.dataset.live === "/plan/result" || form.dataset.live === "/air") {
        history.replaceState(null, "", form.action.split("?")[0] + "?" + query());
      }
      if (good && result.querySelector("[data-band=missing]")) await ask({ band: "1" }, own.signal);
    } catch (error) {
      if (error.name === "AbortError") return;
      document.getElementById("lost").hidden = false;
    }
    if (running === own) result.setAttribute("aria-busy", "false");
  };

  const later = (wait) => {
    clearTimeout(timer);
    timer = setTimeout(draw, wait);
  };

  // Some choices change which entries there are: the form is drawn anew, the hand stays where it was.
  const reform = async () => {
    const id = document.activeElement && document.activeElement.id;
    const open = [...form.querySelectorAll("details")].map((d) => d.open);
    try {
      const response = await fetch(form.getAttribute("action") + "?" + query());
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      const fresh = page.querySelector("form[data-live]");
      if (!fresh) return;
      form.replaceChildren(...fresh.childNodes);
      [...form.querySelectorAll("details")].forEach((d, n) => { if (open[n]) d.open = true; });
      const back = id && document.getElementById(id);
      if (back) back.focus();
    } catch (error) {
      form.requestSubmit();
      return;
    }
    later(0);
  };

  form.addEventListener("input", (event) => { if (event.target.tagName !== "SELECT") later(450); });
  form.addEventListener("change", (event) => {
    if (event.target.hasAttribute("data-reform")) reform();
    else later(80);
  });
  form.addEventListener("submit", (event) => {
    const by = event.submitter;
    if (by && by.name && by.name !== "go") return;
    event.preventDefault();
    later(0);
    if (window.matchMedia("(max-width: 60rem)").matches) result.scrollIntoView();
  });

  if (form.dataset.live === "/plan/result" && result.querySelector(".waiting")) later(0);
  else if (result.querySelector("[data-band=missing]")) later(0);
})();
