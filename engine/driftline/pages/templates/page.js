"use strict";
// The page is whole without this. With it: J and K go from version to version, holding C shows the camera.

const free = (event) => !(event.ctrlKey || event.metaKey || event.altKey)
  && !/^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName || "");

function step(by) {
  const turned = document.querySelector(by > 0 ? "a[rel=next]" : "a[rel=prev]");
  if (turned) { location.href = turned.href; return; }
  const stands = [...document.querySelectorAll(".stand")];
  if (!stands.length) return;
  const now = stands.indexOf(document.activeElement.closest(".stand"));
  const next = stands[Math.min(Math.max(now + by, 0), stands.length - 1)];
  next.scrollIntoView({ block: "center" });
  next.focus({ preventScroll: true });
}

function showCamera(on) {
  for (const two of document.querySelectorAll(".two")) {
    const camera = two.querySelector(".camera img"), edited = two.querySelector(".edited img");
    if (!camera || !edited) continue;
    edited.dataset.own ||= edited.getAttribute("src");
    edited.src = on ? camera.getAttribute("src") : edited.dataset.own;
    two.classList.toggle("held", on);
  }
}

addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if (!free(event) || event.repeat && key === "c") return;
  if (key === "j") step(1);
  else if (key === "k") step(-1);
  else if (key === "c") showCamera(true);
});
addEventListener("keyup", (event) => { if (event.key.toLowerCase() === "c") showCamera(false); });
addEventListener("blur", () => showCamera(false));
