/** Keeps the screen on while something is being recorded, where the browser can. Returns the way to let it sleep. */
export function stayAwake() {
  let lock = null;
  let wanted = true;

  async function ask() {
    if (!wanted || document.visibilityState !== "visible" || !navigator.wakeLock) return;
    try {
      lock = await navigator.wakeLock.request("screen");
      if (!wanted) lock.release();
    } catch {
      lock = null; // an empty battery may refuse: recording goes on
    }
  }
  document.addEventListener("visibilitychange", ask);
  ask();
  return () => {
    wanted = false;
    document.removeEventListener("visibilitychange", ask);
    lock?.release().catch(() => {});
  };
}
