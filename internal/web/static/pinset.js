// Pinset works without this file. It only spares steps.
"use strict";

// In a column of weights, Enter goes to the next field instead of sending.
document.addEventListener("keydown", (e) => {
  if (e.key !== "Enter" || !e.target.matches("[data-next]")) return;
  const all = [...e.target.form.querySelectorAll("[data-next]")].filter((el) => !el.closest("details:not([open])"));
  const next = all[all.indexOf(e.target) + 1];
  if (!next) return;
  e.preventDefault();
  next.focus();
  next.select();
});

// "All" and "none" tick a group of boxes. Blanks are left out: few things can be seen on them.
document.addEventListener("click", (e) => {
  const key = e.target.closest("[data-ticks]");
  if (!key) return;
  e.preventDefault();
  for (const box of key.form.querySelectorAll('input[type="checkbox"][name="' + key.dataset.ticks + '"]')) {
    box.checked = key.value === "all" && !box.hasAttribute("data-blank");
  }
});

// A draft follows what is typed: the page is asked for again and the draft in it taken over.
for (const form of document.querySelectorAll("form[data-draft]")) {
  let timer, asked = 0;
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(async () => {
      const turn = ++asked;
      const answer = await fetch(form.dataset.draft, { method: "POST", body: new URLSearchParams(new FormData(form)) }).catch(() => null);
      if (!answer || turn !== asked) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      for (const part of document.querySelectorAll("[data-live]")) {
        const fresh = page.getElementById(part.id);
        if (fresh) part.replaceChildren(...fresh.childNodes);
      }
    }, 450);
  });
}

// A pairing code stands behind the #, which no browser sends: it goes into the form, and out of the address and the history.
for (const form of document.querySelectorAll("form[data-pair]")) {
  if (location.hash.length < 2) continue;
  form.elements.code.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
}

// What only works with scripts is hidden until here.
for (const el of document.querySelectorAll("[data-script], [data-print]")) el.hidden = false;
for (const key of document.querySelectorAll("[data-print]")) key.addEventListener("click", () => window.print());

// A passphrase can be read over while it is typed.
for (const box of document.querySelectorAll("[data-shows]")) {
  const field = document.getElementById(box.dataset.shows);
  box.addEventListener("change", () => { field.type = box.checked ? "text" : "password"; });
  field.form.addEventListener("submit", () => { field.type = "password"; });
}

// What is typed outlives a reload, such as one by pulling at the page, and a phone that puts the page away.
const typedHere = "typed " + location.pathname + location.search;
const controls = () => [...document.querySelectorAll('main form[method="post"] :is(input, select, textarea)')]
  .filter((el) => !["hidden", "file", "password"].includes(el.type));
const keepTyped = () => sessionStorage.setItem(typedHere, JSON.stringify(controls().map((el) => [el.name, el.value, el.checked])));
addEventListener("pagehide", keepTyped);
document.addEventListener("visibilitychange", () => { if (document.hidden) keepTyped(); });
if (performance.getEntriesByType("navigation")[0]?.type !== "navigate") {
  const kept = JSON.parse(sessionStorage.getItem(typedHere) || "[]");
  controls().forEach((el, i) => {
    const [name, value, checked] = kept[i] || [];
    if (name !== el.name) return;
    if (!["checkbox", "radio"].includes(el.type)) el.value = value;
    else if (el.value === value) el.checked = checked;
  });
  for (const form of document.querySelectorAll("form[data-draft]")) form.dispatchEvent(new Event("input"));
}

// Rows of a table are added and taken out without asking for the page again.
document.addEventListener("click", (e) => {
  const key = e.target.closest("[data-more], [data-drop]");
  const rows = key?.closest("[data-rows]");
  if (!rows) return;
  const all = rows.querySelectorAll("[data-row]");
  if ("more" in key.dataset) {
    if (rows.querySelector('details input[type="checkbox"]:checked')) return; // new columns: the page lays them out
    const row = all[all.length - 1].cloneNode(true);
    for (const el of row.querySelectorAll(":is(input, select, textarea)")) {
      const id = el.id + "-" + all.length;
      row.querySelector('label[for="' + CSS.escape(el.id) + '"]')?.setAttribute("for", id);
      el.id = id;
      el.value = "";
    }
    all[all.length - 1].after(row);
    row.querySelector("[data-drop]").setAttribute("aria-label", "Take out row " + (all.length + 1));
    row.querySelector("input, select, textarea").focus();
  } else if (all.length > 1) {
    key.closest("[data-row]").remove();
  } else {
    for (const el of all[0].querySelectorAll("input, select, textarea")) el.value = "";
  }
  e.preventDefault();
});

// A form whose answer may take seconds says so as long as it is under way.
for (const form of document.querySelectorAll("form[data-long]")) {
  const says = document.createElement("p");
  says.className = "hint";
  says.setAttribute("role", "status");
  form.append(says);
  form.addEventListener("submit", () => {
    const began = Date.now();
    const tell = () => { says.textContent = form.dataset.long + " " + Math.round((Date.now() - began) / 1000) + " s"; };
    tell();
    setInterval(tell, 1000);
  });
}
