// What a page does beyond its words: keeps drafts, says when the server is away, follows what others write.
// Every page works without it.
"use strict";
(() => {
  const body = document.body, root = document.documentElement;
  const away = document.querySelector(".away");
  const SILENT = 30000; // ms without a sign of life after which nothing here counts as fresh (design gate 5)
  let heard = Date.now();
  let row = Number(body.dataset.row || 0);

  // -- signs of life ------------------------------------------------------------------------------------------
  const gone = (is) => {
    root.classList.toggle("gone", is);
    if (away) away.hidden = !is;
  };
  const check = () => gone(Date.now() - heard > SILENT);
  const alive = () => { heard = Date.now(); check(); };
  setInterval(check, 1000);
  // After sleep the clock has jumped: grey first, then ask.
  document.addEventListener("visibilitychange", () => { check(); if (!document.hidden) ask(); });
  window.addEventListener("pageshow", (e) => { check(); if (e.persisted) ask(); });
  window.addEventListener("offline", () => { heard = 0; check(); });

  const ask = async () => {
    try {
      const answer = await fetch("/alive", { cache: "no-store", signal: AbortSignal.timeout(3000) });
      if (!answer.ok) return false;
      const said = await answer.json();
      alive();
      if (said.row !== row) grown(said.row);
      return true;
    } catch { return false; }
  };

  // -- what others wrote --------------------------------------------------------------------------------------
  const dirty = () => [...document.querySelectorAll("form[data-draft]")].some((f) => f.dataset.touched);
  const grown = async (to) => {
    row = to;
    if (dirty() || body.dataset.still !== undefined) {
      const note = document.getElementById("grown");
      if (note) note.hidden = false;
      return;
    }
    try {
      const answer = await fetch(location.href, { cache: "no-store" });
      if (!answer.ok) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      const main = fresh.getElementById("main"), here = document.getElementById("main");
      if (!main || !here) { location.reload(); return; }
      const focus = document.activeElement && document.activeElement.id;
      here.replaceWith(main);
      for (const part of ["wrong"]) {
        const other = fresh.getElementById(part), mine = document.getElementById(part);
        if (!!other !== !!mine) { location.reload(); return; }
      }
      if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
      wire();
      document.dispatchEvent(new Event("ledger:fresh"));
    } catch { /* away: the page stays as it is and greys out */ }
  };
  if (window.EventSource) {
    const live = new EventSource("/live");
    live.addEventListener("beat", alive);
    live.addEventListener("row", (e) => { alive(); const to = Number(e.data); if (to !== row) grown(to); });
  } else setInterval(ask, 5000);

  // -- drafts: what was typed survives everything -------------------------------------------------------------
  const name = (form) => `draft ${body.dataset.treatment} ${form.dataset.draft}`;
  const kept = new URLSearchParams(location.search).get("kept");
  if (kept) localStorage.removeItem(`draft ${body.dataset.treatment} ${kept}`);
  const keep = (form) => {
    const typed = {};
    for (const f of form.elements) {
      if (!f.name || f.type === "hidden" || f.type === "submit" || f.dataset.blind !== undefined) continue;
      if (f.type === "radio" || f.type === "checkbox") { if (f.checked) (typed[f.name] ||= []).push(f.value); }
      else if (f.value) typed[f.name] = [f.value];
    }
    form.dataset.touched = "yes";
    try { localStorage.setItem(name(form), JSON.stringify(typed)); } catch { /* no room: the form itself still holds it */ }
  };
  const restore = (form) => {
    let typed;
    try { typed = JSON.parse(localStorage.getItem(name(form)) || "null"); } catch { typed = null; }
    if (!typed) return;
    for (const f of form.elements) {
      const was = typed[f.name];
      if (!was || f.type === "hidden") continue;
      if (f.type === "radio" || f.type === "checkbox") { if (was.includes(f.value)) f.checked = true; }
      else if (!f.value) f.value = was[0];
    }
  };

  const wire = () => {
    for (const form of document.querySelectorAll("form")) {
      if (form.dataset.wired) continue;
      form.dataset.wired = "yes";
      if (form.dataset.draft) {
        restore(form);
        form.addEventListener("input", () => keep(form));
      }
      if (form.method !== "post") continue;
      form.addEventListener("submit", async (e) => {
        if (form.dataset.sent) { e.preventDefault(); return; }
        e.preventDefault();
        form.dataset.sent = "yes";
        const by = e.submitter;
        if (await ask()) {
          if (by && by.name) {
            const held = document.createElement("input");
            held.type = "hidden"; held.name = by.name; held.value = by.value;
            form.append(held);
          }
          form.submit();
          return;
        }
        delete form.dataset.sent;
        if (form.dataset.draft) keep(form);
        heard = 0; check();
        form.dispatchEvent(new CustomEvent("ledger:unsaved", { bubbles: true }));
      });
    }
  };
  wire();
  const trouble = document.getElementById("trouble");
  if (trouble) trouble.focus();
})();
