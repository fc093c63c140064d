// Sounds the alarms of running cooks on whatever page is open, until they are
// heard. Times are kept by the server; this script only asks for them.
"use strict";
(() => {
  let sound = null, ringing = [];

  const tone = () => {
    try {
      sound = sound || new AudioContext();
      sound.resume();
      for (const start of [0, 0.35, 0.7]) {
        const voice = sound.createOscillator(), level = sound.createGain();
        voice.type = "square";
        voice.frequency.value = 880;
        level.gain.setValueAtTime(0.35, sound.currentTime + start);
        level.gain.setValueAtTime(0, sound.currentTime + start + 0.22);
        voice.connect(level).connect(sound.destination);
        voice.start(sound.currentTime + start);
        voice.stop(sound.currentTime + start + 0.25);
      }
      if (navigator.vibrate) navigator.vibrate([300, 150, 300]);
    } catch { /* no sound on this device: the page still shows it */ }
  };

  // A browser lets a page sound after it was touched once.
  document.addEventListener("pointerdown", () => { sound = sound || new AudioContext(); sound.resume(); }, { once: true });
  for (const key of document.querySelectorAll("[data-ring]")) {
    key.hidden = false;
    key.addEventListener("click", tone);
  }

  const hear = async (alarm) => {
    const body = new URLSearchParams({ event: "heard", typed: alarm.id });
    const answer = await fetch("/cooks/" + alarm.cook + "/step", { method: "POST", body }).catch(() => null);
    if (answer && answer.ok) { ringing = ringing.filter((a) => a.id !== alarm.id); show(); }
  };

  const show = () => {
    const old = document.getElementById("ring");
    if (old) old.remove();
    if (document.title.startsWith("⏰ ")) document.title = document.title.slice(2);
    if (!ringing.length) return;
    document.title = "⏰ " + document.title;
    const told = [...document.querySelectorAll(".ringing [name=typed]")].map((n) => n.value); // by the page itself
    const news = ringing.filter((a) => !told.includes(a.id));
    if (!news.length) return;
    const bar = document.createElement("section");
    bar.id = "ring";
    bar.className = "ring";
    bar.setAttribute("role", "alert");
    for (const alarm of news) {
      const line = document.createElement("p"), key = document.createElement("button");
      line.textContent = "Cook " + alarm.cook + ", " + alarm.clock + ": " + alarm.what;
      key.className = "btn alarm";
      key.type = "button";
      key.textContent = "Heard";
      key.addEventListener("click", () => hear(alarm));
      bar.append(line, key);
    }
    document.body.prepend(bar);
  };

  // A running clock counts on between two loads of the page. It goes by the
  // server's time: the clock of a phone may jump, and stands still in its sleep.
  const clocks = [...document.querySelectorAll("[data-minutes]")].map((el) => ({ el, since: Date.parse(el.dataset.since), minutes: Number(el.dataset.minutes), at: performance.now() }));
  const tick = () => { for (const c of clocks) c.el.textContent = Math.floor(c.minutes + (performance.now() - c.at) / 60000); };
  setInterval(tick, 5000);

  const look = async () => {
    const answer = await fetch("/alarms.json").catch(() => null);
    if (!answer || !answer.ok || answer.redirected) return; // to the door
    const told = await answer.json(), now = Date.parse(told.now);
    for (const c of clocks) Object.assign(c, { minutes: (now - c.since) / 60000, at: performance.now() });
    tick();
    const next = told.alarms.filter((a) => a.due);
    const same = next.map((a) => a.id).join() === ringing.map((a) => a.id).join();
    ringing = next;
    if (!same) show();
  };

  setInterval(look, 15000);
  setInterval(() => { if (ringing.length) tone(); }, 4000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
  look();
})();
