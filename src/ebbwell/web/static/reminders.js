// Reminders of one screen: tells and sounds a reading that is due. It listens to nothing and calls nobody.
"use strict";
(() => {
  const AGAIN = 3 * 60000; // ms until the second, louder one; there is no third
  const GIVE_UP = 30 * 60000; // ms after which a due reading is only told on the page
  let skew = 0, lock = null, context = null, busy = false;
  const part = () => document.getElementById("reminding");
  const sound = () => document.getElementById("remind-sound");
  const show = (id, is) => { const e = document.getElementById(id); if (e) e.hidden = !is; };

  const sync = () => { const p = part(); if (p) skew = Number(p.dataset.now) - Date.now(); };
  const said = (key) => { try { return Number(sessionStorage.getItem(key) || 0); } catch { return 0; } };
  const note = (key, times) => { try { sessionStorage.setItem(key, String(times)); } catch { /* it may sound once more */ } };

  const play = async (loud) => {
    const audio = sound();
    if (!audio) return false;
    audio.volume = loud ? 1 : 0.7;
    audio.currentTime = 0;
    try { await audio.play(); show("remind-tap", false); } catch { show("remind-tap", true); return false; }
    if (navigator.vibrate) navigator.vibrate(400);
    return true;
  };

  // The words swap light and dark three times, slowly, for eyes in a dark room.
  const light = () => {
    const told = document.getElementById("remind-now");
    if (!told) return;
    told.classList.remove("lit");
    void told.offsetWidth; // so that it starts anew
    told.classList.add("lit");
  };

  // Each tick works out anew what is due: a timer that slept loses nothing but time.
  const tick = async () => {
    const p = part();
    if (!p || document.querySelector(".first-action:target")) return; // other things wait while hands are needed
    const t = Date.now() + skew;
    const due = [...p.querySelectorAll("[data-due]")].filter((d) => Number(d.dataset.due) <= t);
    const told = document.getElementById("remind-now");
    if (told) { told.hidden = !due.length; told.textContent = due.map((d) => d.textContent).join(" "); }
    for (const d of due) {
      const late = t - Number(d.dataset.due), key = `reminded ${document.body.dataset.treatment} ${d.dataset.name}`;
      const times = said(key);
      if (late > GIVE_UP || times > 1 || (times === 1 && late < AGAIN)) continue;
      if (busy) return;
      busy = true;
      if (await play(times === 1)) {
        note(key, late < AGAIN ? 1 : 2);
        light();
      }
      busy = false;
      break;
    }
  };

  const sign = () => {
    if (part()) fetch("/alive?reminders", { cache: "no-store" }).then((answer) => {
      if (answer.ok) document.dispatchEvent(new Event("ledger:heard"));
    }).catch(() => { /* away: the page greys out by itself */ });
  };
  const wake = async () => {
    if (!part() || !("wakeLock" in navigator) || document.hidden || lock) return;
    try { lock = await navigator.wakeLock.request("screen"); lock.addEventListener("release", () => { lock = null; }); }
    catch { lock = null; }
  };
  const may = () => {
    if (!part() || !window.AudioContext) return;
    context ||= new AudioContext();
    show("remind-tap", context.state === "suspended");
  };
  document.addEventListener("pointerdown", () => { if (context) context.resume().then(() => show("remind-tap", false)); });
  document.addEventListener("visibilitychange", () => { tick(); wake(); sign(); });
  document.addEventListener("ledger:fresh", () => { sync(); may(); tick(); });
  setInterval(tick, 1000);
  setInterval(sign, 10000);
  sync(); may(); tick(); sign(); wake();

  // The page where reminders are turned on: the real sound, and whether the screen can be kept awake.
  const button = document.querySelector("[data-play]");
  if (button) {
    button.hidden = false;
    button.addEventListener("click", async () => {
      await play(false);
      const field = document.querySelector("[name=wake_lock]");
      if (!field || !("wakeLock" in navigator)) return;
      try { const held = await navigator.wakeLock.request("screen"); field.value = "yes"; held.release(); }
      catch { field.value = "no"; }
    });
  }
})();
