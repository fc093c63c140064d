// One card at a time: the space bar, an arrow or a foot switch goes on, whatever has the focus.
// Without this file the key "Next" has the focus itself.
"use strict";

document.addEventListener("keydown", (e) => {
  if (e.target.matches("input, textarea, select") || e.ctrlKey || e.metaKey || e.altKey || e.repeat) return;
  const onward = [" ", "Enter", "ArrowRight", "PageDown"].includes(e.key);
  const key = document.querySelector(onward ? "[data-step]" : ["ArrowLeft", "PageUp"].includes(e.key) ? "[data-step-back]" : ":not(*)");
  if (!key) return;
  e.preventDefault();
  key.click();
});
