// What a page does beyond its words: keeps drafts, says when the server is away, follows what others write,
// holds back observations until they can be sent. Every page works without it.
"use strict";
(() => {
  const body = document.body, root = document.documentElement;
  const away = document.querySelector(".away"), words = away ? away.dataset : {};
  const SILENT = 30000; // ms without a sign of life after which nothing here counts as fresh (design gate 5)
  const OLD_DRAFT = 5 * 60000; // ms after which a draft says when it was typed
  let row = Number(body.dataset.row || 0);

  // -- signs of life ------------------------------------------------------------------------------------------
  // Both clocks are asked: the wall clock runs through sleep and may be set back, the other one doesn't step.
  const now = () => ({ wall: Date.now(), mono: performance.now() });
  let heard = now(), old = false; // old: the page was out of sight or cut off since its figures were made
  const silent = () => {
    const t = now(), wall = t.wall - heard.wall;
    return wall > SILENT || wall < -2000 || t.mono - heard.mono > SILENT;
  };
  const check = () => {
    const lost = silent();
    old ||= lost || document.hidden;
    root.classList.toggle("gone", old); // it stays grey until its figures are made anew
    if (away) away.hidden = !lost;
    return lost;
  };
  // The silence before is looked at first: after sleep a sign of life may come before the next look at the clocks.
  const alive = () => { old ||= silent(); heard = now(); check(); if (old && !document.hidden) renew(); };
  const renew = async () => {
    const anew = !dirty() && await fresh();
    if (reloading) return; // grey until the other page is there
    if (anew || !document.querySelector(".stale")) { old = false; check(); }
  };
  // How long ago a screen with reminders on was heard, counted on from what the server said.
  const ages = new WeakMap();
  const count = () => {
    for (const line of document.querySelectorAll("[data-heard]")) {
      const from = ages.get(line) || { said: line.dataset.heard, at: now() };
      if (from.said !== line.dataset.heard) { from.said = line.dataset.heard; from.at = now(); }
      ages.set(line, from);
      const t = now(), gone = Math.max(0, t.wall - from.at.wall, t.mono - from.at.mono);
      const seconds = Math.floor((Number(from.said) + gone) / 1000);
      const words = seconds < 120 ? line.dataset.seconds : line.dataset.minutes;
      line.textContent = words.replace("{ago}", String(seconds < 120 ? seconds : Math.floor(seconds / 60)));
    }
  };
  document.addEventListener("ledger:heard", () => {
    for (const line of document.querySelectorAll("[data-own]")) {
      line.dataset.heard = "0";
      ages.set(line, { said: "0", at: now() });
    }
  });
  const lose = () => { heard = { wall: 0, mono: -2 * SILENT }; check(); };
  setInterval(() => { check(); count(); }, 1000);
  document.addEventListener("visibilitychange", () => { check(); if (!document.hidden) ask(); });
  window.addEventListener("pageshow", (e) => { check(); if (e.persisted) ask(); });
  window.addEventListener("offline", lose);
  window.addEventListener("online", () => ask());

  const ask = async (patience = 3000) => {
    try {
      const answer = await fetch("/alive", { cache: "no-store", signal: AbortSignal.timeout(patience) });
      if (!answer.ok) return false;
      const said = await answer.json();
      alive();
      if (said.row !== row) grown(said.row);
      send();
      return true;
    } catch { return false; }
  };

  // -- what others wrote --------------------------------------------------------------------------------------
  const dirty = () =>
    document.getElementById("trouble") !== null || body.dataset.still !== undefined ||
    [...document.querySelectorAll("form")].some((f) => f.dataset.touched || f.dataset.sent);
  const leaving = () => document.querySelector("form[data-sent]") !== null;
  const grown = async (to) => {
    row = to;
    if (leaving()) return; // its own entry, most likely; the next page is made anew
    if (dirty()) {
      const note = document.getElementById("grown");
      if (note) note.hidden = false;
      return;
    }
    await fresh();
  };
  let reloading = false;
  const fresh = async () => {
    try {
      const answer = await fetch(location.href, { cache: "no-store", signal: AbortSignal.timeout(5000) });
      if (!answer.ok || dirty()) return false;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const main = page.getElementById("main"), here = document.getElementById("main");
      const other = page.getElementById("wrong"), mine = document.getElementById("wrong");
      if (!main || !here || !!other !== !!mine || new URL(answer.url).pathname !== location.pathname) {
        reloading = true;
        location.reload();
        return false;
      }
      row = Number(page.body.dataset.row || row);
      for (const name of ["row", "treatment", "under"]) body.dataset[name] = page.body.dataset[name] || "";
      const open = [...here.querySelectorAll("details")].map((d) => d.open);
      const focus = document.activeElement && document.activeElement.id;
      here.replaceWith(main);
      const folds = [...main.querySelectorAll("details")];
      if (folds.length === open.length) folds.forEach((d, n) => { d.open = open[n]; });
      if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
      wire();
      document.dispatchEvent(new Event("ledger:fresh"));
      return true;
    } catch { return false; /* away: the page stays as it is and greys out */ }
  };
  // A page whose figures age is asked for anew now and then, so that ages are the server's own.
  setInterval(() => {
    const part = document.querySelector("[data-fresh]");
    if (part && !document.hidden && !silent() && !dirty()) fresh();
  }, 20000);
  if (window.EventSource) {
    const live = new EventSource("/live");
    live.addEventListener("beat", () => { alive(); send(); });
    live.addEventListener("row", (e) => { alive(); send(); const to = Number(e.data); if (to !== row) grown(to); });
    setInterval(() => { if (silent() && !document.hidden) ask(); }, 5000);
  } else setInterval(ask, 5000);

  // -- drafts: what was typed survives everything -------------------------------------------------------------
  const name = (form) => `draft ${body.dataset.treatment} ${form.dataset.draft}`;
  const forget = (draft) => {
    for (const key of Object.keys(localStorage)) {
      if (key.startsWith("draft ") && key.endsWith(` ${draft}`)) localStorage.removeItem(key);
    }
  };
  const clock = (ms) => new Intl.DateTimeFormat("en-GB", {
    hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: body.dataset.zone || undefined,
  }).format(ms);
  const fill = (text, at) => (text || "").replace("{at}", clock(at));
  const kept = new URLSearchParams(location.search).get("kept");
  if (kept) { try { forget(kept); } catch { /* a browser without storage keeps no drafts */ } }
  const fields = (form) => [...form.elements].filter(
    (f) => f.name && f.type !== "hidden" && f.type !== "submit" && f.dataset.blind === undefined);
  const keep = (form) => {
    const typed = {};
    for (const f of fields(form)) {
      if (f.type === "radio" || f.type === "checkbox") { if (f.checked) (typed[f.name] ||= []).push(f.value); }
      else if (f.value) typed[f.name] = [f.value];
    }
    form.dataset.touched = Date.now();
    try { localStorage.setItem(name(form), JSON.stringify({ typed, at: Date.now() })); } catch { /* no room: the form itself still holds it */ }
  };
  const restore = (form) => {
    let draft = null;
    try { draft = JSON.parse(localStorage.getItem(name(form)) || "null"); } catch { /* no draft that can be read */ }
    if (!draft || !draft.typed) return;
    let back = false;
    for (const f of fields(form)) {
      const was = draft.typed[f.name];
      if (!was) continue;
      if (f.type === "radio" || f.type === "checkbox") { if (was.includes(f.value) && !f.checked) { f.checked = true; back = true; } }
      else if (!f.value) { f.value = was[0]; back = true; }
    }
    if (!back || Date.now() - draft.at < OLD_DRAFT) return;
    tellOld(form, draft.at);
  };
  // Values read a while ago aren't values of now: say when they were typed, and date them so where that can be.
  const tellOld = (form, typed) => {
    const at = form.elements.namedItem("at");
    if (at && !at.value) at.value = clock(typed);
    form.dataset.told = "yes";
    const told = document.createElement("p");
    told.className = "wrong"; told.setAttribute("role", "status"); told.textContent = fill(words.drafted, typed);
    form.prepend(told);
    return told;
  };
  // Left lying half typed and sent without a time: it comes back once with the time of typing, to be looked at.
  const leftLying = (form) => {
    const typed = Number(form.dataset.touched), at = form.elements.namedItem("at");
    if (!form.dataset.draft || !typed || !at || at.value || form.dataset.told) return false;
    if (Date.now() - typed < OLD_DRAFT) return false;
    tellOld(form, typed).scrollIntoView({ block: "center" });
    keep(form);
    return true;
  };

  // -- observations held back: readings, events, stop; never a tick, a check or connecting ---------------------
  const QUEUE = "held back";
  const read = () => { try { return JSON.parse(localStorage.getItem(QUEUE) || "[]"); } catch { return []; } };
  const write = (items) => { localStorage.setItem(QUEUE, JSON.stringify(items)); tell(); };
  const hold = (form) => {
    const typed = [...new FormData(form)].filter(([, value]) => typeof value === "string");
    const item = {
      to: form.getAttribute("action"), what: form.dataset.queue, draft: form.dataset.draft || "", made: Date.now(),
      key: new FormData(form).get("key"), treatment: body.dataset.treatment, under: body.dataset.under || "", typed,
    };
    try { write([...read().filter((i) => i.key !== item.key), item]); } catch { return false; }
    return true;
  };
  const tell = () => {
    const list = document.getElementById("held");
    if (!list) return;
    const items = read();
    list.hidden = !items.length;
    list.replaceChildren(...items.map((item) => {
      const line = document.createElement("p");
      const typed = item.typed.filter(([n, v]) => v && !/^(key|when|sure)/.test(n)).map(([, v]) => v).join(", ");
      line.textContent = `${fill(words[item.refused ? "refused" : `held_${item.what}`], item.made)}${typed ? `: ${typed}` : ""}`;
      if (item.refused) {
        const done = document.createElement("button");
        done.className = "press"; done.type = "button"; done.textContent = words.dropped;
        done.addEventListener("click", () => write(read().filter((i) => i.key !== item.key)));
        line.append(done);
      }
      return line;
    }));
    for (const place of document.querySelectorAll(".held")) {
      const stop = items.find((i) => i.what === "stop");
      place.textContent = stop ? fill(words.held_stop, stop.made) : "";
    }
  };
  let sending = false;
  const send = async () => {
    if (sending) return;
    sending = true;
    try {
      for (const item of read().filter((i) => !i.refused)) {
        if (item.treatment !== body.dataset.treatment && item.what !== "stop") { settle(item, false); continue; }
        const form = new URLSearchParams(item.typed);
        for (const [n, v] of [["queued", "yes"], ["made", item.made], ["sent", Date.now()], ["made_under", item.under]]) form.set(n, v);
        const answer = await fetch(item.to, { method: "POST", body: form, signal: AbortSignal.timeout(8000) });
        if (answer.status >= 500) break;
        settle(item, answer.ok);
      }
    } catch { /* away again: it stays held back */ }
    sending = false;
  };
  const settle = (item, taken) => {
    const rest = read().filter((i) => i.key !== item.key);
    write(taken ? rest : [...rest, { ...item, refused: true }]);
    if (taken && item.draft) forget(item.draft);
    if (taken) for (const f of document.querySelectorAll("form[data-queue]")) {
      if (f.elements.key?.value === item.key || (f.dataset.draft === item.draft && item.draft && !f.dataset.touched)) { delete f.dataset.touched; f.reset(); fresh(); }
    }
  };

  // -- forms --------------------------------------------------------------------------------------------------
  // A form with a one-time key is sent from here, so that the page stays, key and all, where no answer comes.
  // Sent once more, from here or held back, it is one entry. Gives where to go on, "" to send it as a page, or null.
  const post = async (form, by, patience) => {
    const typed = new URLSearchParams([...new FormData(form)].filter(([, value]) => typeof value === "string"));
    if (by && by.name) typed.append(by.name, by.value);
    try {
      const answer = await fetch(form.getAttribute("action"), {
        method: "POST", body: typed, headers: { "x-go": "tell" }, signal: AbortSignal.timeout(patience),
      });
      return answer.headers.get("x-go") || "";
    } catch { return null; }
  };
  const submit = async (e) => {
    const form = e.target;
    if (form.method !== "post") return;
    e.preventDefault();
    if (form.dataset.sent) return; // a second tap
    if (leftLying(form)) return;
    form.dataset.sent = "yes";
    const by = e.submitter, queue = form.dataset.queue;
    const patience = queue === "stop" ? 1500 : 3000;
    const keyed = form.querySelector('[name="key"], [name$=".key"]');
    const to = keyed ? await post(form, by, patience) : (await ask(patience)) ? "" : null;
    if (to === null) {
      delete form.dataset.sent;
      if (form.dataset.draft) keep(form);
      lose();
      if (queue) hold(form);
      return;
    }
    setTimeout(() => { delete form.dataset.sent; }, 8000);
    if (to) { location.assign(to); return; }
    if (by && by.name) {
      const held = document.createElement("input");
      held.type = "hidden"; held.name = by.name; held.value = by.value;
      form.append(held);
    }
    form.submit();
  };
  const wire = () => {
    for (const form of document.querySelectorAll("form")) {
      if (form.dataset.wired) continue;
      form.dataset.wired = "yes";
      if (form.dataset.draft) {
        restore(form);
        form.addEventListener("input", () => keep(form));
      }
      form.addEventListener("submit", submit);
    }
  };
  wire();
  tell();
  send();
  document.getElementById("trouble")?.focus();
})();
