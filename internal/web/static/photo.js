// A photo is made ready in the page: what Pinset can not read becomes a JPEG here, what is too large becomes smaller. Without
// this file pictures are sent as they are.
"use strict";
(() => {
  const readable = ["image/jpeg", "image/png", "image/webp"];
  const mostBytes = 8 << 20, longest = 4096;

  // ready returns a file that Pinset can read, and when it was taken if that is not in the file.
  const ready = async (file) => {
    if (readable.includes(file.type) && file.size <= mostBytes) return { file, taken: "" };
    const seen = await createImageBitmap(file, { imageOrientation: "from-image" });
    const by = Math.min(1, longest / Math.max(seen.width, seen.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(seen.width * by));
    canvas.height = Math.max(1, Math.round(seen.height * by));
    canvas.getContext("2d").drawImage(seen, 0, 0, canvas.width, canvas.height);
    seen.close();
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
    if (!blob) throw new Error("no memory for the picture");
    return { file: new File([blob], "photo.jpg", { type: "image/jpeg" }), taken: clock(new Date(file.lastModified)) };
  };

  // clock writes a time as a camera does, with how far it is from UTC.
  const clock = (t) => {
    const two = (n) => String(n).padStart(2, "0");
    const east = -t.getTimezoneOffset(), off = Math.abs(east);
    return t.getFullYear() + "-" + two(t.getMonth() + 1) + "-" + two(t.getDate()) + " " + two(t.getHours()) + ":" + two(t.getMinutes()) + ":" + two(t.getSeconds()) +
      (east < 0 ? "-" : "+") + two(Math.floor(off / 60)) + ":" + two(off % 60);
  };

  const give = (input, files) => {
    const all = new DataTransfer();
    for (const file of files) all.items.add(file);
    input.files = all.files;
  };

  // note keeps beside a field when its pictures were taken, blank where the file says it: so many as there are pictures.
  const note = (input, times) => {
    for (const old of input.parentNode.querySelectorAll("input[data-taken]")) old.remove();
    for (const time of times) {
      const el = document.createElement("input");
      el.type = "hidden"; el.name = input.name.replace("file", "taken"); el.value = time; el.dataset.taken = "";
      if (input.hasAttribute("form")) el.setAttribute("form", input.getAttribute("form"));
      input.after(el);
      input = el;
    }
  };

  const sayer = (input) => input.closest("form, fieldset, section")?.querySelector("[data-photo-says]");
  const say = (input, text, bad) => {
    const el = sayer(input);
    if (!el) return;
    el.textContent = text;
    el.classList.toggle("bad", Boolean(bad));
  };
  const cannot = (file) => "This browser can not read " + (file.name || "the picture") + ". On an iPhone choose Settings, Camera, Formats, Most Compatible; on others set the camera to JPEG.";

  // take makes the chosen files ready. It returns false if one can not be read: then the field is empty again.
  const take = async (input) => {
    const files = [...input.files], out = [];
    for (const file of files) {
      say(input, "Making ready" + (files.length > 1 ? " " + (out.length + 1) + " of " + files.length : "") + " …");
      try {
        out.push(await ready(file));
      } catch {
        input.value = "";
        say(input, cannot(file), true);
        return null;
      }
    }
    say(input, "");
    return out;
  };

  // preview draws a picture into a line; a canvas needs no address for it.
  const preview = async (line, file) => {
    line.querySelector("canvas")?.remove();
    const seen = await createImageBitmap(file, { resizeWidth: 240 }).catch(() => null);
    if (!seen) return;
    const canvas = document.createElement("canvas");
    canvas.width = seen.width; canvas.height = seen.height;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", "The photo chosen for this line");
    canvas.getContext("2d").drawImage(seen, 0, 0);
    line.append(canvas);
  };

  document.addEventListener("change", async (e) => {
    const input = e.target;
    if (!input.matches("input[type=file][data-photo]") || !input.files.length) return;
    const got = await take(input);
    if (!got) return;
    give(input, got.map((g) => g.file));
    note(input, got.map((g) => g.taken));
    const line = input.closest("[data-photo-line]");
    if (line) await preview(line, input.files[0]);
    // Just taken, of a jar that is known: it is sent at once.
    const jar = input.form.elements.jar1;
    if (input.dataset.photo === "send" && (!jar || jar.value.trim())) input.form.requestSubmit();
    else if (jar && !jar.value.trim()) { say(input, "Which jar is it? Write its number, then press Keep the photo."); jar.focus(); }
  });

  // What was made ready goes with the picture.
  document.addEventListener("reset", (e) => {
    for (const el of e.target.elements) if (el.dataset.taken !== undefined) queueMicrotask(() => el.remove());
    for (const canvas of e.target.querySelectorAll("canvas")) canvas.remove();
    for (const input of e.target.elements) if (input.matches("[data-photo]")) say(input, "");
  });

  // Several at once: each goes into the next line that has no picture yet.
  document.addEventListener("change", async (e) => {
    const input = e.target;
    if (!input.matches("[data-photo-several]") || !input.files.length) return;
    const got = await take(input);
    if (!got) return;
    const lines = [...input.form.querySelectorAll("[data-photo-line]")].filter((l) => !l.querySelector("input[type=file]").files.length);
    for (const [i, g] of got.slice(0, lines.length).entries()) {
      const field = lines[i].querySelector("input[type=file]");
      give(field, [g.file]);
      note(field, [g.taken]);
      await preview(lines[i], g.file);
    }
    input.value = "";
    if (got.length > lines.length) say(input, "There are lines for " + lines.length + " photos. Keep these, then choose the other " + (got.length - lines.length) + ".", true);
    lines[0]?.querySelector("input").focus();
  });

  // On rounds, the jar that is ticked alone is the one to photograph.
  const jar = document.querySelector("[data-photo-jar]");
  if (jar) document.addEventListener("change", (e) => {
    if (!e.target.matches('input[type=checkbox][name="jar"]')) return;
    const ticked = document.querySelectorAll('input[type=checkbox][name="jar"]:checked');
    if (ticked.length === 1) jar.value = ticked[0].value;
  });

  // The arrow keys lead through the photos of a jar.
  document.addEventListener("keydown", (e) => {
    if (e.target.matches("input, textarea, select") || e.ctrlKey || e.metaKey || e.altKey) return;
    const rel = { ArrowLeft: "prev", ArrowRight: "next" }[e.key];
    const link = rel && document.querySelector('nav a[rel="' + rel + '"]');
    if (link) link.click();
  });
})();
