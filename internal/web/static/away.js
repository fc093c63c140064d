// Over HTTPS the pages of rounds and lists are kept on the phone too, by worker.js. Over plain HTTP browsers do not allow it.
"use strict";
(() => {
  const say = (text) => { for (const el of document.querySelectorAll("[data-level]")) el.textContent = text; };
  const list = document.querySelector("[data-kept]");
  if (list) {
    const show = async () => {
      const all = await (await caches.open("pinset-pages")).keys();
      const seen = new Set();
      for (const request of all) {
        const url = new URL(request.url);
        if (url.pathname === "/away" || seen.has(url.pathname)) continue;
        seen.add(url.pathname);
        const page = new DOMParser().parseFromString(await (await caches.match(request)).text(), "text/html");
        const a = document.createElement("a");
        a.href = url.pathname + url.search;
        a.textContent = page.title.replace(/ · Pinset$/, "");
        const li = document.createElement("li");
        li.append(a);
        list.append(li);
      }
    };
    if ("caches" in self) show().catch(() => {});
  }
  if (location.protocol !== "https:" || !navigator.serviceWorker) return;

  // What is linked here and may be needed where there is no network.
  const wanted = /^\/((batches|shelves)\/[^/]+\/rounds|batches\/[^/]+\/(weigh|inoculate|list\/[a-z]+)|rounds)$/;
  const most = 40, mostSteps = 100;
  const paths = () => {
    const out = [...document.querySelectorAll("main a[href]")].map((a) => new URL(a.href)).filter((u) => u.origin === location.origin && wanted.test(u.pathname)).slice(0, most).map((u) => u.pathname + u.search);
    for (const form of document.querySelectorAll("form[data-steps]")) {
      const v = new URLSearchParams(new FormData(form));
      for (let i = 1; i <= Math.min(mostSteps, form.dataset.steps); i++) { v.set("step", i); out.push(new URL(form.action).pathname + "?" + v); }
    }
    return [...new Set(out)];
  };
  navigator.serviceWorker.addEventListener("message", (e) => {
    if (e.data.keptAhead !== undefined) document.documentElement.dataset.ahead = e.data.keptAhead;
    if (!e.data.since) return;
    const p = document.createElement("p");
    p.className = "hint away";
    p.setAttribute("role", "status");
    p.textContent = "No network: this page is as it was at " + new Date(e.data.since).toTimeString().slice(0, 5) + ".";
    document.getElementById("main").prepend(p);
  });
  navigator.serviceWorker.register("/worker.js").then(() => navigator.serviceWorker.ready).then((it) => {
    say("Entries and this page are kept on this phone: both work where there is no network, through a reload too.");
    it.active.postMessage({ since: true });
    if (document.querySelector("nav.rail")) it.active.postMessage({ keep: [location.pathname + location.search, ...paths()].filter((p) => !p.startsWith("/away")) });
  }).catch(() => {});
})();
