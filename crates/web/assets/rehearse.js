// The front of a virtual cabinet follows its clock. Everything works without this script, by the buttons "Go on".
"use strict";

(() => {
  const front = document.getElementById("front");
  if (!front || !front.dataset.follow) return;
  const source = new EventSource(front.dataset.follow);
  const draw = (place, html) => {
    if (!place || place.contains(document.activeElement)) return;
    // Folds that are open stay open.
    const open = [...place.querySelectorAll("details")].map((d) => d.open);
    place.innerHTML = html;
    [...place.querySelectorAll("details")].forEach((d, n) => { if (open[n]) d.open = true; });
  };
  source.addEventListener("front", (event) => draw(front, event.data));
  source.addEventListener("charts", (event) => draw(document.getElementById("charts"), event.data));
  source.addEventListener("over", () => { source.close(); location.reload(); });
  // A page that nobody sees does not run the clock on.
  document.addEventListener("visibilitychange", () => { if (!document.hidden && source.readyState === 2) location.reload(); });
})();
