
// Entries while the server is away: kept in this device with the id of their form, delivered each once and in order.
(() => {
  const panel = document.getElementById("queue");
  if (!panel) return;
  const KEY = "fallrate.entry.";
  const SKEW = "fallrate.skew";
  const say = panel.dataset;
  const list = panel.querySelector("ol");
  const head = panel.querySelector("b");
  const FORMS = /^\/batches\/[^/]+\/(done|reading|note)$/;
  let away = false;
  let busy = false;
  let count = 0;

  const stored = () => {
    const found = [];
    for (let n = 0; n < localStorage.length; n += 1) {
      const key = localStorage.key(n);
      if (key && key.startsWith(KEY)) found.push(key);
    }
    return found.sort().map((key) => ({ key, ...JSON.parse(localStorage.getItem(key)) }));
  };
  const keep = (item) => {
    count += 1;
    const order = String(Date.now()).padStart(15, "0") + "-" + String(count).padStart(4, "0");
    localStorage.setItem(KEY + order + "-" + item.id, JSON.stringify(item));
  };
  const freshId = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
  const clock = (ms) => new Date(ms).toLocaleTimeString(document.documentElement.lang, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

  const show = () => {
    let items = [];
    try { items = stored(); } catch (error) { return; }
    const waiting = items.filter((i) => !i.refused).length;
    panel.hidden = items.length === 0 && !away;
    const words = [];
    if (away) words.push(say.away.replace("{n}", clock(Number(say.made))));
    if (waiting) words.push(say.waiting.replace("{n}", String(waiting)));
    if (items.some((i) => i.by !== say.person && !i.refused)) words.push(say.other);
    const text = words.join(" ");
    if (head.textContent !== text) head.textContent = text;
    list.replaceChildren(...items.map((i) => {
      const line = document.createElement("li");
      line.textContent = clock(i.entered) + " " + i.label + (i.refused ? ": " + i.refused : "");
      if (i.refused) {
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = say.discard;
        button.addEventListener("click", () => { localStorage.removeItem(i.key); show(); });
        line.append(" ", button);
      }
      return line;
    }));
  };

  // How far the server's clock is ahead of this one, measured over the shortest way there and back.
  const measure = async () => {
    const before = Date.now();
    const answer = await fetch("/clock", { cache: "no-store", redirect: "error", signal: AbortSignal.timeout(8000) });
    const text = await answer.text();
    if (!answer.ok || !/^\d+$/.test(text)) throw new Error("no clock");
    const skew = Number(text) - (before + Date.now()) / 2;
    try { localStorage.setItem(SKEW, String(Math.round(skew))); } catch (error) { /* It is measured again. */ }
  };

  const post = (url, body) => fetch(url, {
    method: "POST",
    redirect: "manual",
    headers: { "content-type": "application/x-www-form-urlencoded" },
    body,
    signal: AbortSignal.timeout(10000),
  });
  const isAway = (status) => status === 502 || status === 503 || status === 504;

  const because = async (answer) => {
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const said = page.querySelector("[data-kind=fault], .faults li, .subline");
    return (said && said.textContent.trim()) || String(answer.status);
  };

  // One after the other; the first that finds nobody stops the rest.
  const deliver = async () => {
    if (busy) return;
    busy = true;
    let done = 0;
    try {
      for (const item of stored()) {
        if (item.refused || item.by !== say.person) continue;
        const body = new URLSearchParams(item.body);
        body.set("queued", "1");
        body.set("queued_by", item.by);
        body.set("entered_ms", String(item.entered));
        body.set("sent_ms", String(Date.now()));
        if (item.skew !== null) body.set("skew_ms", item.skew);
        const answer = await post(item.url, body);
        if (answer.type === "opaqueredirect") {
          localStorage.removeItem(item.key);
          done += 1;
        } else if (isAway(answer.status) || answer.status === 401 || answer.status === 507) {
          break;
        } else {
          const { key, ...rest } = item;
          rest.refused = await because(answer);
          localStorage.setItem(key, JSON.stringify(rest));
        }
      }
      away = false;
    } catch (error) {
      away = true;
    }
    busy = false;
    show();
    if (done > 0) location.reload();
  };

  const queue = (form, body) => {
    const part = form.closest("details");
    const name = form.querySelector("[name=number]") ? document.querySelector("h1").textContent : "";
    const label = name || (part ? part.querySelector("summary").textContent : "");
    const value = body.get("value") || body.get("text") || "";
    try {
      keep({
        id: body.get("entry_id"), url: form.getAttribute("action"), body: body.toString(), entered: Date.now(),
        skew: localStorage.getItem(SKEW), by: say.person,
        label: (label + (value && value !== label ? " " + [body.get("place"), value].filter(Boolean).join(" ") : "")).trim(),
      });
    } catch (error) {
      // No room in this device: the hand keeps what it typed.
      panel.hidden = false;
      head.textContent = say.full;
      return;
    }
    form.reset();
    const id = form.elements.namedItem("entry_id");
    if (id) id.value = freshId();
    // An act is done once.
    if (form.querySelector("[name=number]")) form.querySelector("button").disabled = true;
    away = true;
    show();
    head.scrollIntoView({ block: "nearest" });
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    const action = form.getAttribute("action") || "";
    if (form.method !== "post" || !(FORMS.test(action) || form.hasAttribute("data-queue"))) return;
    event.preventDefault();
    if (form.dataset.sending) return;
    form.dataset.sending = "1";
    const body = new URLSearchParams(new FormData(form));
    try {
      // What waits goes first.
      if (stored().some((i) => !i.refused && i.by === say.person)) await deliver();
      const answer = away ? null : await post(action, body);
      if (answer === null || isAway(answer.status)) queue(form, body);
      else if (answer.type === "opaqueredirect") location.assign(action.replace(/\/[^/]+$/, ""));
      else if (answer.status === 401) location.reload();
      else {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        document.querySelector("main").replaceChildren(...page.querySelector("main").childNodes);
        const wrong = document.querySelector("[aria-invalid=true]");
        if (wrong) wrong.focus();
      }
    } catch (error) {
      queue(form, body);
    }
    delete form.dataset.sending;
  });

  const look = async () => {
    try {
      await measure();
      const was = away;
      away = false;
      if (stored().some((i) => !i.refused && i.by === say.person)) await deliver();
      else if (was) location.reload();
      else show();
    } catch (error) {
      // Signed out is not away.
      away = !(error instanceof Error && error.message === "no clock");
      show();
    }
  };
  if (document.querySelector("main [data-watch]") || !panel.hidden || stored().length > 0) {
    look();
    setInterval(look, 10000);
  }
  window.addEventListener("online", look);

  // Only where the connection is encrypted may a page be opened again while the server is away.
  if ("serviceWorker" in navigator && window.isSecureContext) {
    if (location.pathname === "/sign-in") caches.delete("fallrate-pages");
    navigator.serviceWorker.register("/sw.js").catch(() => {});
  }
})();
