// An entry is kept on this phone before it is sent, and until Pinset has it. Without this file forms are sent as they are.
"use strict";
(() => {
  const patience = 15000; // ms for an answer, and between two tries
  const slowest = 30; // bytes that a weak network carries in a ms
  const opened = new Promise((resolve, reject) => {
    const ask = indexedDB.open("pinset", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore("waiting", { keyPath: "n", autoIncrement: true });
    ask.onsuccess = () => resolve(ask.result);
    ask.onerror = () => reject(ask.error);
  });
  opened.catch(() => {}); // a browser that keeps nothing: forms go out as they are

  // on runs one step on what waits. It resolves when the step has reached the disk.
  const on = async (mode, step) => {
    const all = (await opened).transaction("waiting", mode, { durability: "strict" });
    return new Promise((resolve, reject) => {
      const ask = step(all.objectStore("waiting"));
      all.oncomplete = () => resolve(ask.result);
      all.onabort = () => reject(all.error);
    });
  };
  const waiting = () => on("readonly", (s) => s.getAll());

  // newAct makes a UUIDv7, so that sending an entry twice stores it once.
  const newAct = () => {
    const b = crypto.getRandomValues(new Uint8Array(16));
    let ms = Date.now();
    for (let i = 5; i >= 0; i--) { b[i] = ms % 256; ms = Math.floor(ms / 256); }
    b[6] = (b[6] & 0x0f) | 0x70;
    b[8] = (b[8] & 0x3f) | 0x80;
    const hex = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
  };

  // apart turns the fields of a form into what outlives the page: of a file, a copy.
  const apart = (data) => Promise.all([...data].filter(([, v]) => !(v instanceof File) || v.size).map(async ([name, v]) =>
    [name, v instanceof File ? { file: v.name, copy: new Blob([await v.arrayBuffer()], { type: v.type }) } : v]));
  const isFile = (v) => typeof v === "object";
  const fileOf = (v) => new File([v.copy], v.file, { type: v.copy.type });
  const bodyOf = (fields) => {
    if (!fields.some(([, v]) => isFile(v))) return new URLSearchParams(fields);
    const body = new FormData();
    for (const [name, v] of fields) body.append(name, isFile(v) ? fileOf(v) : v);
    return body;
  };

  // send hands one entry over and says what came of it: "done", "no" if Pinset refuses it, "other" if it is another person's, "later" for all else: looks says that who is let in may only look.
  const send = async (entry) => {
    const body = bodyOf(entry.fields);
    body.set("who", entry.who ?? "");
    body.set("waited", Math.max(0, Math.round((Date.now() - entry.pressed) / 1000)));
    const stop = new AbortController();
    const bytes = entry.fields.reduce((sum, [, v]) => sum + (isFile(v) ? v.copy.size : 0), 0);
    const timer = setTimeout(() => stop.abort(), patience + bytes / slowest);
    try {
      const answer = await fetch(entry.path, { method: "POST", body, headers: { "Pinset-Handover": "1" }, redirect: "error", signal: stop.signal });
      if (answer.status === 204 && answer.headers.has("Pinset-Next")) return { came: "done", next: answer.headers.get("Pinset-Next") };
      if (answer.headers.has("Pinset-Whose")) return { came: "other" };
      if (answer.headers.has("Pinset-Least")) return { came: "later", looks: true };
      if (![403, 404, 409, 413, 422].includes(answer.status) || !answer.headers.has("Pinset-Handover")) return { came: "later", status: answer.headers.has("Pinset-Handover") ? answer.status : 0 }; // of whatever else stands in the network: nothing
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      return { came: "no", why: page.querySelector("[role=alert]")?.textContent.trim() || page.querySelector("main p")?.textContent.trim() || "" };
    } catch {
      return { came: "later" };
    } finally {
      clearTimeout(timer);
    }
  };

  // handOver sends what waits in its order. It returns what came of the entry n.
  let running = Promise.resolve();
  const handOver = (n) => (running = running.then(async () => {
    let mine = { came: "later" };
    for (const entry of await waiting()) {
      if (entry.refused !== undefined) continue;
      const got = await send(entry);
      if (entry.n === n) mine = got;
      others.delete(entry.n);
      if (got.came === "other") { others.add(entry.n); continue; }
      door = got.status === 401;
      looks = got.looks === true;
      stuck = got.status === 500 ? entry.n : 0;
      if (got.came === "later") break;
      if (got.came === "done" && !entry.fields.some(([, v]) => isFile(v))) handed.push(entry);
      if (got.came === "done" || entry.n === n) await on("readwrite", (s) => s.delete(entry.n));
      else await refuse(entry, got.why);
    }
    const left = await show();
    if (n && mine.came === "later" && !left.some((e) => e.n === n)) mine = { came: "done", next: location.pathname + location.search }; // by another page that is open
    return mine;
  }, () => ({ came: "later" })));

  // refuse keeps why an entry was not taken, unless another page that is open let it go meanwhile.
  const refuse = (entry, why) => on("readwrite", (s) => {
    const ask = s.get(entry.n);
    ask.onsuccess = () => { if (ask.result) s.put({ ...entry, refused: why }); };
    return ask;
  });

  const handed = []; // since this page was opened: it does not show them by itself
  const others = new Set(); // entries of a person who is not let in here now
  let stuck = 0; // the entry that Pinset fails on: what is behind it waits
  let door = false; // this device was not let in, or not any more
  let looks = false; // who is let in may only look
  const bar = document.createElement("aside");
  bar.className = "waiting";
  bar.setAttribute("role", "status");
  const line = (name, text = "") => { const el = document.createElement(name); el.textContent = text; return el; };
  const key = (text, press) => { const el = line("button", text); el.type = "button"; el.className = "btn"; el.addEventListener("click", press); return el; };
  let dropped; // the last that was, so that a slip can be mended
  const drop = async (entry) => { await on("readwrite", (s) => s.delete(entry.n)); dropped = entry; await show(); };
  const bringBack = async () => { const entry = dropped; dropped = undefined; await on("readwrite", (s) => s.put(entry)); await show(); };
  let shown; // what the bar says: it is not said again, and the keyboard stays where it stands
  const show = async () => {
    const all = await waiting();
    const held = all.filter((e) => e.refused === undefined);
    const says = JSON.stringify([all.map((e) => [e.n, e.refused, others.has(e.n)]), stuck, door, looks, dropped?.n]);
    if (says === shown) return all;
    shown = says;
    mark(held);
    bar.replaceChildren();
    if (held.length) {
      bar.append(line("p", "Not yet handed over: " + held.length));
      const list = line("ol", "");
      for (const e of held) {
        const li = line("li", new Date(e.pressed).toTimeString().slice(0, 5) + "  " + e.what);
        if (others.has(e.n)) li.append(line("br"), "Entered by " + (e.who || "the owner") + ": it waits until they are let in on this phone again.", line("br"), key("Drop it", () => drop(e)));
        if (e.n === stuck) li.append(line("br"), "Pinset fails on this one: it is tried again, and what is below waits behind it.", line("br"), key("Drop it", () => drop(e)));
        if (looks && !others.has(e.n)) li.append(line("br"), key("Drop it", () => drop(e)));
        list.append(li);
      }
      bar.append(list, line("p", door ? "This phone has to be let in again. Then they are handed over." : looks ? "Who is let in here may only look. They are handed over once the owner gives back the role of a hand." : "They are kept on this phone. Pinset gets them as soon as it can be reached."), key("Hand over now", () => handOver()));
    }
    for (const e of all.filter((e) => e.refused !== undefined)) {
      const box = line("div", "");
      box.append(line("p", "Not taken: " + e.what), line("p", e.refused), key("Open that page with it", () => again(e)), key("Drop it", () => drop(e)));
      bar.append(box);
    }
    if (dropped) {
      const box = line("div", "");
      box.append(line("p", "Dropped: " + dropped.what), key("Bring it back", () => bringBack()));
      bar.append(box);
    }
    if (bar.childNodes.length) document.getElementById("main")?.prepend(bar); else bar.remove();
    return all;
  };

  // mark shows on the jars of a round what was pressed on this page, so that nobody goes over them again.
  const round = 12 * 3600 * 1000; // ms after which a round is another
  const mark = (held) => {
    for (const form of document.querySelectorAll("form[data-keep]:has(input[name=since])")) {
      const here = [...held, ...handed].filter((e) => e.path === new URL(form.action).pathname && Date.now() - e.pressed < round);
      const of = (e, name) => e.fields.filter(([k]) => k === name).map(([, v]) => v);
      const rest = here.find((e) => of(e, "see")[0] === "rest"), key = form.querySelector("button[value=rest]");
      for (const box of form.querySelectorAll("input[name=jar]")) {
        const kept = here.some((e) => e !== rest && of(e, "jar").includes(box.value)) || rest && !of(rest, "jar").includes(box.value) && !box.hasAttribute("data-blank");
        box.closest(".cell").classList.toggle("kept", Boolean(kept));
      }
      if (key) key.disabled = Boolean(rest);
    }
  };

  // again sends a refused entry as an ordinary form: its page comes back with what was typed. It stays kept until it is dropped.
  const again = (entry) => {
    const form = document.createElement("form");
    form.method = "post";
    form.action = entry.path;
    for (const [name, value] of entry.fields) {
      const el = document.createElement("input");
      el.name = name;
      if (isFile(value)) {
        const one = new DataTransfer();
        one.items.add(fileOf(value));
        form.enctype = "multipart/form-data";
        el.type = "file"; el.hidden = true; el.files = one.files;
      } else {
        el.type = "hidden"; el.value = value;
      }
      form.append(el);
    }
    document.body.append(form);
    form.submit();
  };

  // goTo opens a page, also where only a place on this one is meant: that shows what was kept only once it is loaded again.
  const goTo = (next) => {
    const to = new URL(next, location.href);
    if (to.hash && to.pathname + to.search === location.pathname + location.search) {
      try { sessionStorage.setItem("place", to.hash.slice(1)); } catch { /* the page opens at its head */ }
      to.hash = "";
    }
    location.assign(to.href.replace(/#$/, ""));
  };
  try {
    document.getElementById(sessionStorage.getItem("place"))?.scrollIntoView();
    sessionStorage.removeItem("place");
  } catch { /* as above */ }

  // A page that is gone back to is as it was left: its forms can be sent again.
  window.addEventListener("pageshow", (e) => {
    if (e.persisted) for (const form of document.forms) { form.busy = form.plain = false; form.says = ""; }
  });

  // whatOf says in a line what an entry is.
  const whatOf = (data, submitter) => {
    const jars = [...data.getAll("jar"), data.get("numbers"), data.get("grams"), data.get("jar1")].filter(Boolean).join(", ");
    const shots = [...data.values()].filter((v) => v instanceof File && v.size).length;
    return [document.title.replace(/ · Pinset$/, ""), jars, shots > 1 ? shots + " photos" : shots ? "photo" : submitter?.textContent.trim(), data.get("note")].filter(Boolean).join(" · ");
  };

  // actOf names the entry in a form. What could not be kept and may have been sent has its name again when it is pressed again.
  const actOf = (form, data) => {
    const says = JSON.stringify([...data].map(([name, v]) => (name === "act" ? "" : [name, v.name ?? v, v.size, v.lastModified])));
    if (form.says !== says) form.named = newAct();
    form.says = says;
    return form.named;
  };

  // unkept sends an entry that this phone has no room for. Where Pinset can not be reached it stays in its form, and the page says so.
  const unkept = async (entry) => {
    const got = await send(entry);
    if (got.came === "done" || got.came === "no") return got;
    const full = line("aside", ""), head = line("p", "This phone has no room left");
    full.className = "caution";
    full.dataset.weight = "stop";
    full.setAttribute("role", "alert");
    head.className = "h";
    full.append(head, line("p", entry.what + ": this is not kept, and Pinset can not be reached. It is still in its form below. Leave this page open, and press again where there is a network."));
    document.querySelector("aside.caution[role=alert]")?.remove();
    document.getElementById("main")?.prepend(full);
    full.scrollIntoView();
    return { unkept: true };
  };

  document.addEventListener("submit", async (e) => {
    const form = e.target;
    if (!form.matches("form[data-keep]") || form.plain || e.submitter?.matches("[formaction], [formmethod]")) return;
    e.preventDefault();
    if (form.busy) return;
    form.busy = true;
    const plainly = () => { form.plain = true; form.requestSubmit(e.submitter); };
    const data = new FormData(form, e.submitter);
    data.set("act", actOf(form, data));
    const fields = await apart(data).catch(() => {}); // before the store is opened: it does not wait for a file
    if (!fields) return plainly(); // a file that was moved since it was chosen
    const entry = { path: new URL(form.action).pathname, fields, pressed: Date.now(), what: whatOf(data, e.submitter), who: document.body.dataset.who };
    const got = await on("readwrite", (s) => s.add(entry)).then((n) => handOver(n).catch(() => ({ came: "later" })), () => unkept(entry));
    if (!got.unkept) form.says = "";
    if (got.came === "done") return goTo(got.next); // the form stays busy: a second press is the same entry
    if (got.came === "no") return plainly(); // the page comes back with what was typed and what is wrong
    form.busy = false;
    if (got.unkept) return;
    navigator.storage?.persist?.().catch(() => {}); // where it may be asked: what waits is not cleared to make room
    const then = e.submitter?.dataset.then || form.dataset.then;
    if (then && navigator.serviceWorker?.controller) return goTo(then); // the next card, or shelf, is kept too
    form.reset();
    bar.scrollIntoView();
  });

  for (const el of document.querySelectorAll("[data-level]")) {
    el.textContent = "Entries are kept on this phone until Pinset has them, also through a reload. The page itself needs Pinset: keep it open where there is no network.";
    const more = line("a", "Over HTTPS it would not.");
    more.href = "/trust";
    el.append(" ", more);
  }
  const tryAgain = async () => { if ((await show()).some((e) => e.refused === undefined)) await handOver(); };
  // From plain HTTP the way leads on to HTTPS, once nothing waits under this address any more.
  const onward = async () => {
    const to = document.querySelector("a[data-onward]");
    if (to && !(await waiting()).length) location.replace(to.href);
  };
  tryAgain().then(onward).catch(() => {});
  addEventListener("online", () => tryAgain().catch(() => {}));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) tryAgain().catch(() => {}); });
  setInterval(() => tryAgain().catch(() => {}), patience);
})();
