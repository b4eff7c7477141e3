// For gloved, busy or tired hands: a number pad, a pedal that goes on and back, and reading aloud. All off at first.
// The pedal moves from field to field and never presses or picks anything.
"use strict";
(() => {
  // -- the sign of a figure that is mostly below zero: a phone's number keys have no minus ---------------------------
  const signOf = (input) => input && document.querySelector(`[data-sign="${CSS.escape(input.id)}"]`);
  const flip = (input) => {
    const text = input.value.trim();
    input.value = /^[-\u2212]/.test(text) ? text.slice(1) : `-${text}`;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const signs = () => { for (const b of document.querySelectorAll("[data-sign]")) b.hidden = false; };
  document.addEventListener("ledger:fresh", signs);
  document.addEventListener("click", (e) => {
    const input = document.getElementById(e.target.closest?.("[data-sign]")?.dataset.sign || "");
    if (input) { flip(input); input.focus(); }
  });
  signs();

  const part = document.getElementById("hands"), pad = document.getElementById("pad");
  if (!part || !pad) return;
  const words = part.dataset, synth = window.speechSynthesis;
  const on = (what) => { try { return localStorage.getItem(`hands ${what}`) === "on"; } catch { return false; } };
  const set = (what, is) => { try { localStorage.setItem(`hands ${what}`, is ? "on" : "off"); } catch { /* for this page only */ } };

  // -- moving on and back -------------------------------------------------------------------------------------
  const stops = () => {
    const seen = new Set();
    return [...document.querySelectorAll("#main input, #main select, #main textarea, #main button, #main a[href], #main summary")].filter((e) => {
      if (e.type === "hidden" || e.disabled || e.tabIndex < 0 || !e.getClientRects().length) return false;
      if (e.type !== "radio") return true;
      const group = `${e.form ? [...document.forms].indexOf(e.form) : ""} ${e.name}`;
      if (seen.has(group)) return false;
      seen.add(group);
      return true;
    });
  };
  const move = (by) => {
    const all = stops(), here = document.activeElement;
    let at = all.indexOf(here);
    if (at < 0 && here && here.type === "radio") at = all.findIndex((e) => e.type === "radio" && e.name === here.name && e.form === here.form);
    const to = all[at < 0 ? (by > 0 ? 0 : all.length - 1) : Math.min(Math.max(at + by, 0), all.length - 1)];
    if (!to) return;
    to.focus({ preventScroll: true });
    to.scrollIntoView({ block: "center" });
    if (on("aloud")) read();
  };

  // -- reading aloud: voices of this computer only ------------------------------------------------------------
  const voice = () => (synth ? synth.getVoices().find((v) => v.localService && v.lang.startsWith(document.documentElement.lang)) : null);
  const text = (e) => {
    const group = e.closest("fieldset"), field = e.closest(".field, .row");
    const label = e.type === "radio" ? group?.querySelector("legend")?.textContent
      : (e.labels && e.labels[0]?.textContent) || e.getAttribute("aria-label") || e.textContent;
    const picks = e.type === "radio" && group ? [...group.querySelectorAll("label")].map((l) => l.textContent).join(", ") : "";
    const value = e.tagName === "INPUT" && e.type === "text" ? e.value : "";
    const unit = value && field ? field.querySelector(".entry span")?.textContent || "" : "";
    // Digits one by one, so that 15 and 50 can't be mixed up; a minus is said, so that it can't be missed.
    const singly = value.replace(/\d/g, "$& ").replace(/[-\u2212](?=\d)/g, "minus ").replace(/[.,](?=\d)/, " point ");
    return [label, picks, singly, unit].filter(Boolean).join(". ");
  };
  const hush = () => { if (synth) synth.cancel(); };
  const read = () => {
    const v = voice();
    if (!v || document.querySelector(".first-action:target")) return;
    const here = document.activeElement;
    const said = new SpeechSynthesisUtterance(here && here !== document.body ? text(here) : document.querySelector("h1")?.textContent || "");
    said.voice = v; said.rate = 0.9;
    hush();
    synth.speak(said);
  };

  document.addEventListener("keydown", hush);
  document.addEventListener("keydown", (e) => {
    if (e.key === "F9" && on("aloud")) { e.preventDefault(); read(); }
    if (!on("pedal") || (e.key !== "PageDown" && e.key !== "PageUp")) return;
    e.preventDefault();
    if (!e.repeat) move(e.key === "PageDown" ? 1 : -1);
  });
  document.addEventListener("pointerdown", hush);

  // -- the number pad -----------------------------------------------------------------------------------------
  const named = { "\u232b": "back", "-": "minus", "/": "slash", ".": "point" };
  for (const key of ["7", "8", "9", "\u232b", "4", "5", "6", "-", "1", "2", "3", "/", "0", ".", "next"]) {
    const b = document.createElement("button");
    b.type = "button"; b.tabIndex = -1;
    b.dataset.key = named[key] === "back" ? "back" : key;
    b.textContent = key === "next" ? pad.dataset.next : key === "-" ? "\u2212" : key;
    if (named[key]) b.setAttribute("aria-label", pad.dataset[named[key]]);
    pad.append(b);
  }
  let field = null;
  const numeric = (e) => e instanceof HTMLInputElement && ["decimal", "numeric"].includes(e.dataset.mode || e.inputMode);
  const place = () => {
    const foot = document.querySelector(".foot");
    pad.style.bottom = `${foot && foot.getClientRects().length ? foot.offsetHeight : 0}px`;
    document.body.style.paddingBottom = pad.hidden ? "" : `${pad.offsetHeight}px`;
    // What scrolls into view stops above the pad.
    document.documentElement.style.scrollPaddingBottom = pad.hidden ? "" : `${pad.offsetHeight + parseInt(pad.style.bottom, 10)}px`;
  };
  const close = () => { field = null; pad.hidden = true; place(); };
  document.addEventListener("focusin", (e) => {
    if (pad.contains(e.target)) return;
    if (!on("pad") || !numeric(e.target)) { if (!pad.hidden) close(); return; }
    field = e.target;
    field.dataset.mode ||= field.inputMode;
    field.inputMode = "none";
    pad.querySelector("[data-key='-']").textContent = signOf(field) ? "+/\u2212" : "\u2212";
    pad.hidden = false;
    place();
    field.scrollIntoView({ block: "center" });
  });
  pad.addEventListener("pointerdown", (e) => e.preventDefault()); // the field keeps the focus
  pad.addEventListener("click", (e) => {
    const key = e.target.closest("[data-key]")?.dataset.key;
    if (!key || !field) return;
    if (key === "next") {
      const all = stops(), next = all.slice(all.indexOf(field) + 1).find((f) => numeric(f) && f.form === field.form);
      if (next) next.focus({ preventScroll: true }); else move(1);
      return;
    }
    if (key === "-" && signOf(field)) { flip(field); return; }
    const from = field.selectionStart ?? field.value.length, to = field.selectionEnd ?? from;
    if (key === "back") field.setRangeText("", from === to ? Math.max(from - 1, 0) : from, to, "end");
    else field.setRangeText(key, from, to, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });

  // -- turning them on ----------------------------------------------------------------------------------------
  const tell = () => {
    for (const b of part.querySelectorAll("[data-hand]")) {
      const what = b.dataset.hand, is = on(what);
      b.setAttribute("aria-pressed", String(is));
      b.textContent = words[`${what}_${is ? "on" : "off"}`];
    }
  };
  part.addEventListener("click", (e) => {
    const what = e.target.closest("[data-hand]")?.dataset.hand;
    if (!what) return;
    set(what, !on(what));
    if (what === "aloud" && on(what) && !voice()) { set(what, false); tell(); e.target.textContent = words.no_voice; return; }
    tell();
    if (what === "aloud") (on(what) ? read : hush)();
    if (what === "pad" && !on(what)) { for (const f of document.querySelectorAll("[data-mode]")) f.inputMode = f.dataset.mode; close(); }
  });
  if (synth) synth.getVoices();
  part.hidden = false;
  tell();
})();
