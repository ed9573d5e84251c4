/**
 * A button that records acts only on purpose: one pointer that went down and up on it, or a key. A palm, a
 * pinch, a drop of water that moves, a tap that began elsewhere, and the second tap of a double tap do nothing.
 */

const SECOND_TAP = 500;
const FRESH = 600;
let lastAct = -SECOND_TAP;

/** Takes act so that a second call within half a second, from any button of the page, does nothing. */
export function once(act) {
  return () => {
    if (performance.now() - lastAct < SECOND_TAP) return;
    lastAct = performance.now();
    act();
  };
}

function inside(button, { clientX: x, clientY: y }) {
  const { left, right, top, bottom } = button.getBoundingClientRect();
  return x >= left && x <= right && y >= top && y <= bottom;
}

/**
 * Calls act for a deliberate tap on the button, or a deliberate key. byKey(): whether a key may act now (not
 * within a scanner's burst). Returns the way to stop.
 */
export function deliberate(button, act, byKey) {
  const down = new Set();
  let began = null;
  let released = -FRESH;
  const guarded = once(act);

  const onDown = (event) => {
    down.add(event.pointerId);
    // A second finger anywhere on the glass makes it a grip or a pinch.
    began = down.size === 1 && button.contains(event.target) ? event.pointerId : null;
  };
  const onUp = (event) => {
    if (event.pointerId === began && down.size === 1 && inside(button, event)) released = performance.now();
    began = null;
    down.delete(event.pointerId);
  };
  const onCancel = (event) => {
    began = null;
    down.delete(event.pointerId);
  };
  const onClick = (event) => {
    const tapped = performance.now() - released < FRESH;
    released = -FRESH;
    // A key or a screen reader activates without a pointer: the click then names no kind of pointer.
    const byPointer = event.pointerType === undefined ? event.detail > 0 : event.pointerType !== "";
    if (byPointer ? tapped : byKey()) guarded();
  };
  const heard = [[document, "pointerdown", onDown], [document, "pointerup", onUp], [document, "pointercancel", onCancel], [button, "click", onClick]];
  for (const [place, name, act2] of heard) place.addEventListener(name, act2, true);
  return () => heard.forEach(([place, name, act2]) => place.removeEventListener(name, act2, true));
}
