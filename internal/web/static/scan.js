// Reads square codes with the camera, where the browser lets a page have it.
// Without this file the code is typed, or a picture is sent.
"use strict";

for (const part of document.querySelectorAll("[data-scan]")) {
  const video = part.querySelector("video");
  const says = part.querySelector("[data-scan-says]");
  const key = part.querySelector("[data-scan-start]");
  part.hidden = false;
  if (!window.isSecureContext) {
    says.textContent = "This page came over plain HTTP, and browsers give the camera only to pages that came over HTTPS. " + part.dataset.scanElse;
    continue;
  }
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices) {
    says.textContent = "This browser reads no square codes by itself. " + part.dataset.scanElse;
    continue;
  }
  key.hidden = false;
  key.addEventListener("click", () => watch(part, video, says, key));
}

// watch opens the camera and goes to what it reads. Where the part counts
// labels, it stays open and reads on.
async function watch(part, video, says, key) {
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  } catch (err) {
    says.textContent = "The camera was not opened: " + err.message + " Allow it in the browser, or type the code.";
    return;
  }
  key.hidden = true;
  video.hidden = false;
  video.srcObject = stream;
  video.play().catch(() => {}); // where it may not begin by itself, the first touch begins it
  says.textContent = "Hold a square before the camera.";
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  const done = new Set();
  const look = async () => {
    if (!video.srcObject) return;
    for (const code of await detector.detect(video).catch(() => [])) {
      const text = code.rawValue;
      if (!text || done.has(text)) continue;
      done.add(text);
      if (!(await part.dispatchEvent(new CustomEvent("scanned", { cancelable: true, detail: text })))) continue;
      stream.getTracks().forEach((t) => t.stop());
      video.srcObject = null;
      location.href = part.dataset.scan + encodeURIComponent(text);
      return;
    }
    setTimeout(look, 150);
  };
  look();
  addEventListener("pagehide", () => stream.getTracks().forEach((t) => t.stop()));
}

// A picture that was taken is sent at once.
for (const field of document.querySelectorAll("input[type=file][data-send]")) {
  field.addEventListener("change", () => { if (field.files.length) field.form.requestSubmit(); });
}

// Labels that are counted: each square is looked up, and the count on the page follows.
for (const part of document.querySelectorAll("[data-count]")) {
  part.addEventListener("scanned", (e) => {
    e.preventDefault();
    const form = document.getElementById(part.dataset.count);
    form.elements.code.value = e.detail;
    count(form);
  });
}

// count asks for the page with one more code and takes over what changed.
async function count(form) {
  const answer = await fetch(form.action + "?" + new URLSearchParams(new FormData(form))).catch(() => null);
  if (!answer) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of document.querySelectorAll("[data-live]")) {
    const fresh = page.getElementById(part.id);
    if (fresh) part.replaceChildren(...fresh.childNodes);
  }
  form.elements.have.value = page.querySelector('#' + form.id + ' [name="have"]').value;
  form.elements.code.value = "";
  history.replaceState(null, "", answer.url);
}
for (const form of document.querySelectorAll("form[data-counts]")) {
  form.addEventListener("submit", (e) => { e.preventDefault(); count(form); });
}
