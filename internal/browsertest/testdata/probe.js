// What a test asks of a page. Each function looks and tells; only reach and
// fill change anything, as a thumb would.
(() => {
  "use strict";
  const words = (s) => (s || "").replace(/\s+/g, " ").trim();
  const name = (el) => words(el.getAttribute("aria-label") || el.innerText || el.textContent);
  const tell = (el) => {
    const klass = typeof el.className === "string" && el.className ? "." + el.className.trim().split(/\s+/).join(".") : "";
    return el.tagName.toLowerCase() + (el.id ? "#" + el.id : "") + klass + " " + JSON.stringify(name(el).slice(0, 60));
  };
  const shown = (el) => el.checkVisibility({ visibilityProperty: true }) && el.getClientRects().length > 0;
  // For those who can not see: clipped to a pixel, or off to the side until focused.
  // What was written is said at the thumb on rounds, and the bar is clipped away.
  const clipped = (bar) => !!bar && getComputedStyle(bar).clipPath === "inset(50%)";
  const unseen = (el) => !!el.closest(".vh, .skip") || clipped(el.closest(".undo"));
  // The box of its own that an element scrolls or is cut in, if any.
  const boxOf = (el) => {
    for (let p = el.parentElement; p && p !== document.body; p = p.parentElement) {
      if (getComputedStyle(p).overflowX !== "visible") return p;
    }
    return null;
  };

  const begins = (s, label) => s.startsWith(label) && !/^[\p{L}\p{N}]/u.test(s.slice(label.length));

  // The element that bears the label: exactly, or else as its first words.
  const bearing = (selector, label) => {
    const all = [...document.querySelectorAll(selector)].filter((el) => shown(el) && !unseen(el));
    const found = all.find((el) => name(el) === label) || all.find((el) => begins(name(el), label));
    if (!found) throw new Error("nothing bears " + JSON.stringify(label) + "; there are: " + all.map((el) => JSON.stringify(name(el).slice(0, 50))).join(", "));
    return found;
  };
  const control = (label) => {
    const byName = [...document.querySelectorAll("input, select, textarea")].find((el) => el.getAttribute("aria-label") && begins(words(el.getAttribute("aria-label")), label));
    if (byName) return byName;
    const all = [...document.querySelectorAll("label")].filter(shown);
    const found = all.find((el) => name(el) === label) || all.find((el) => begins(name(el), label)) || bearing("label", label);
    return found.control || (() => { throw new Error(label + " labels nothing"); })();
  };
  const chosen = (el, option) => {
    const found = [...el.options].find((o) => words(o.textContent) === option);
    if (!found) throw new Error(el.name + " offers " + [...el.options].map((o) => words(o.textContent)).join(", "));
    el.value = found.value;
    el.dispatchEvent(new Event("input", { bubbles: true }));
    el.dispatchEvent(new Event("change", { bubbles: true }));
    return true;
  };
  // Where to press el, scrolled to where a thumb reaches it.
  const point = (el) => {
    el.scrollIntoView({ block: "center", inline: "nearest", behavior: "instant" });
    const r = el.getClientRects()[0];
    const x = r.left + r.width / 2, y = r.top + r.height / 2;
    const hit = document.elementFromPoint(x, y);
    if (!hit || (hit !== el && !el.contains(hit) && !hit.contains(el))) {
      throw new Error(tell(el) + " is covered by " + (hit ? tell(hit) : "nothing, it is outside the screen"));
    }
    return { x, y };
  };
  const pressable = 'a[href], button, summary, label, input[type="submit"]';

  return {
    press: (label) => point(bearing(pressable, label)),
    // Whether what bears the label is on the screen as it is, with nothing over it.
    inReach: (label) => {
      const el = bearing(pressable, label), r = el.getClientRects()[0];
      const hit = document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2);
      return r.top >= 0 && r.bottom <= innerHeight && !!hit && (hit === el || el.contains(hit));
    },
    pressIn: (selector, label) => point(bearing(selector, label)),
    reach: (label) => { const el = control(label); el.scrollIntoView({ block: "center", behavior: "instant" }); el.focus(); if (el.select) el.select(); return el.tagName; },
    reachIn: (field) => { const el = document.getElementsByName(field)[0]; el.scrollIntoView({ block: "center", behavior: "instant" }); el.focus(); el.select(); return el.tagName; },
    names: (selector) => [...document.querySelectorAll(selector)].filter(shown).map((el) => el.name),
    choose: (label, option) => chosen(control(label), option),
    chooseIn: (field, option) => chosen(document.getElementsByName(field)[0], option),
    ticked: (label) => { const el = bearing("label", label).control; return el.checked; },
    value: (label) => { const el = control(label); return el.tagName === "SELECT" ? words(el.selectedOptions[0].textContent) : el.value; },
    text: (selector) => { const el = document.querySelector(selector); return el ? words(el.innerText) : ""; },
    texts: (selector) => [...document.querySelectorAll(selector)].map((el) => words(el.innerText)),
    focus: () => {
      const el = document.activeElement;
      if (!el || el === document.body) return { tag: "", field: "", name: "", ring: false, seen: false };
      const at = el.closest(".cell, .tile, .place") && el.classList.contains("vh") ? el.closest(".cell, .tile, .place") : el;
      const style = getComputedStyle(at), r = at.getBoundingClientRect();
      const inside = r.bottom > 0 && r.top < innerHeight && r.right > 0 && r.left < innerWidth;
      const hit = inside && document.elementFromPoint(Math.min(Math.max(r.left + r.width / 2, 0), innerWidth - 1), Math.min(Math.max(r.top + r.height / 2, 0), innerHeight - 1));
      const label = el.labels && el.labels[0] ? el.labels[0] : el;
      return {
        tag: el.tagName.toLowerCase(), field: el.name || "", name: el.getAttribute("aria-label") || words(label.textContent).slice(0, 80), go: el.classList.contains("go"),
        ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
        seen: !!hit && (hit === at || at.contains(hit) || hit.contains(at)),
      };
    },

    // What makes the page wider than the screen.
    tooWide: () => {
      const root = document.documentElement, out = [];
      const excess = root.scrollWidth - root.clientWidth;
      for (const el of document.body.querySelectorAll("*")) {
        if (out.length > 4) break;
        const r = el.getBoundingClientRect();
        if (r.width && r.right > root.clientWidth + 1 && shown(el) && !unseen(el) && !boxOf(el) && !el.closest("svg svg, defs")) out.push(tell(el) + " ends at " + Math.round(r.right) + " of " + root.clientWidth);
      }
      if (excess > 0 && !out.length) out.push("the page is " + excess + " px too wide");
      return excess > 0 || out.length ? out : [];
    },
    // Text that is cut off: by a box that neither scrolls nor shows it, and by
    // dots where the whole of it can not be had from the name of the link.
    cutOff: () => {
      const out = [];
      for (const el of document.body.querySelectorAll("*")) {
        if (out.length > 6) break;
        const style = getComputedStyle(el);
        if (!shown(el) || unseen(el) || !["hidden", "clip"].includes(style.overflowX) || el.closest("svg, progress, input, select, textarea")) continue;
        if (el.scrollWidth <= el.clientWidth + 1 && el.scrollHeight <= el.clientHeight + 1) continue;
        if (style.textOverflow === "ellipsis" && el.closest("[aria-label], [title]")) continue;
        out.push(tell(el));
      }
      return out;
    },
    // Texts that lie on each other. What is fixed to the screen lies over the
    // page on purpose.
    overlaps: () => {
      const fixed = (el) => { for (let p = el; p; p = p.parentElement) if (["fixed", "sticky"].includes(getComputedStyle(p).position)) return true; return false; };
      const boxes = [], walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      while (walker.nextNode()) {
        const node = walker.currentNode, el = node.parentElement;
        if (!words(node.data) || !shown(el) || unseen(el) || fixed(el) || el.closest("option, script")) continue;
        const range = document.createRange();
        range.selectNodeContents(node);
        const box = boxOf(el), clip = box && box.getBoundingClientRect();
        for (const r of range.getClientRects()) {
          let { left, right, top, bottom } = r;
          if (clip) { left = Math.max(left, clip.left); right = Math.min(right, clip.right); }
          // The box of a line is higher than its letters, which fill about the middle two thirds.
          const air = 0.18 * (bottom - top);
          top += air;
          bottom -= air;
          if (right - left > 1 && bottom - top > 1) boxes.push({ left, right, top, bottom, node, text: words(node.data).slice(0, 40) });
        }
      }
      boxes.sort((a, b) => a.top - b.top);
      const out = [];
      for (let i = 0; i < boxes.length && out.length < 6; i++) {
        for (let j = i + 1; j < boxes.length && boxes[j].top < boxes[i].bottom; j++) {
          const a = boxes[i], b = boxes[j];
          if (a.node === b.node) continue;
          const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left), high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
          if (wide > 2 && high > 2) out.push(JSON.stringify(a.text) + " and " + JSON.stringify(b.text));
        }
      }
      return out;
    },
    // Ordinary words that are broken within, as in a button that is too narrow.
    broken: () => {
      const out = new Set(), range = document.createRange();
      const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      while (walker.nextNode() && out.size < 5) {
        const node = walker.currentNode, el = node.parentElement;
        if (!words(node.data) || !shown(el) || unseen(el) || el.closest("option, script, svg")) continue;
        for (const m of node.data.matchAll(/(?<![\p{L}\d])[\p{Script=Latin}\d]{2,14}(?![\p{L}\d])/gu)) {
          range.setStart(node, m.index);
          range.setEnd(node, m.index + m[0].length);
          const tops = [...range.getClientRects()].map((r) => r.top);
          if (Math.max(...tops) - Math.min(...tops) > 4) out.add(JSON.stringify(m[0]) + " in " + tell(el));
        }
      }
      return [...out];
    },
    // What is pressed and typed in, with less height than it should have.
    // Links within text may be 24 px: axe looks at those.
    small: (most, gloved) => {
      const out = [];
      for (const el of document.querySelectorAll("button, .btn, input, select, textarea, summary, label.tile, label.cell, a.cell, a.go-to, nav a")) {
        if (!shown(el) || unseen(el) || el.classList.contains("vh")) continue;
        if (el.matches('input[type="checkbox"], input[type="radio"]') && el.closest("label")) continue;
        const r = el.getBoundingClientRect();
        const want = gloved && el.closest("main form") && !el.closest(".undo, .log") && el.matches("button, .btn, .tile, .cell, .in") ? gloved : most;
        if (r.height + 0.5 < want) out.push(tell(el) + " is " + Math.round(r.height) + " px high, want " + want);
      }
      return out;
    },
    // What stays under the bars that are fixed to the screen when the page is
    // scrolled to its end.
    underBars: () => {
      scrollTo(0, document.documentElement.scrollHeight);
      const bars = [...document.querySelectorAll(".rail, .act")].filter((el) => shown(el) && getComputedStyle(el).position === "fixed");
      const top = Math.min(innerHeight, ...bars.map((el) => el.getBoundingClientRect().top));
      const out = [];
      for (const el of document.querySelectorAll("main *")) {
        const r = el.getBoundingClientRect();
        if (out.length < 4 && shown(el) && !unseen(el) && !bars.some((bar) => bar.contains(el)) && words(el.textContent) && !el.children.length && r.bottom > top + 1 && !boxOf(el)) out.push(tell(el));
      }
      scrollTo(0, 0);
      return out;
    },
    ready: () => document.readyState === "complete",
    scanner: () => !!window.axe,
    has: (selector) => !!document.querySelector(selector),
    setTheme: (theme) => { document.documentElement.dataset.theme = theme; return true; },
    // The share of the screen that bars fixed to it cover.
    bars: () => {
      const bars = [...document.querySelectorAll("body *")].filter((el) => shown(el) && !unseen(el) && getComputedStyle(el).position === "fixed");
      return bars.reduce((sum, el) => sum + el.getBoundingClientRect().height, 0) / innerHeight;
    },
    onPaper: () => [...document.querySelectorAll("button, input, select, textarea, nav, summary")].filter((el) => shown(el) && !unseen(el)).map(tell),
  };
})()
