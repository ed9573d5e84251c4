/**
 * Timers drawn from instants that the server wrote: data-until counts down to one and then away from it,
 * data-since counts up from one. Nothing is kept here, so a reload, another device or a page kept for working
 * without a network shows the same. The device's clock is put right by how far the server's is ahead.
 */

import { read } from "./store.js";
import { word } from "./words.js";

const SECONDS_BELOW = 600;

/** Seconds as people say them: days and hours, hours and minutes, minutes, and near the moment seconds. Pure. */
export function spoken(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  const parts = { d: Math.floor(whole / 86400), h: Math.floor(whole / 3600), m: Math.floor(whole / 60) % 60, s: whole % 60 };
  if (parts.d > 1) return word("timer-days", { ...parts, h: parts.h % 24 });
  if (parts.h > 0) return word("timer-hours", parts);
  return word(whole < SECONDS_BELOW ? "timer-seconds" : "timer-minutes", parts);
}

/** What a countdown shows, so many seconds before its instant; below zero it is past. Pure. */
export function countdown(left) {
  if (Math.abs(left) < 1) return word("timer-now");
  return left > 0 ? word("timer-in", { time: spoken(left) }) : word("timer-ago", { time: spoken(-left) });
}

function draw(element, now) {
  const { until, since } = element.dataset;
  const text = until ? countdown((Date.parse(until) - now) / 1000) : spoken((now - Date.parse(since)) / 1000);
  if (element.textContent !== text) element.textContent = text;
  if (until) element.classList.toggle("reached", Date.parse(until) <= now);
}

/** Draws every timer inside an element each second. serverNow: the instant at which the page was written. */
export async function startTimers(root, serverNow) {
  const first = Date.parse(serverNow) - Date.now();
  // A page kept on the device is older than it says: what was measured at the last answer is better then.
  const measured = await read("device", "clock").catch(() => null);
  const ahead = measured?.offset ?? first;
  const tick = () => root.querySelectorAll("[data-until], [data-since]").forEach((element) => draw(element, Date.now() + ahead));
  tick();
  setInterval(tick, 1000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) tick(); });
}
