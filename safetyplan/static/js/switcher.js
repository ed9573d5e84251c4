/**
 * The sheet on which people take turns: a tile for each who has a PIN here, a pad for the PIN, and the
 * password for everybody else. What is typed on the page below it stays.
 */

import * as credentials from "./credential.js";
import { button, make, replace } from "./dom.js";
import * as people from "./people.js";
import { word } from "./words.js";

const WRONG = [120, 60, 120];

function tile({ printed, initials }, present, choose) {
  const one = button("", { class: "person-tile", "aria-current": present ? "true" : null, onclick: choose });
  one.append(make("span", { class: "initials", "aria-hidden": "true" }, initials), make("span", { class: "person-name" }, printed,
    present && make("span", { class: "small" }, word("at-work"))));
  return make("li", {}, one);
}

/** Six dots, the keys 0 to 9 and one to take a digit back; entered(pin) is called with the sixth digit. */
function pinPad(entered) {
  let pin = "";
  const dots = make("p", { class: "pin-dots", "aria-hidden": "true" });
  const said = make("p", { class: "visually-hidden", role: "status" });
  function show() {
    dots.textContent = "●".repeat(pin.length) + "○".repeat(people.PIN_LENGTH - pin.length);
    said.textContent = word("pin-digits", { n: pin.length, count: people.PIN_LENGTH });
  }
  function press(name) {
    if (name === "backspace") pin = pin.slice(0, -1);
    else if (pin.length < people.PIN_LENGTH) pin += name;
    show();
    if (pin.length < people.PIN_LENGTH) return;
    const whole = pin;
    pin = "";
    entered(whole).finally(show);
  }
  const key = (name, label = name, spoken = null) => button(label, { class: "key", "data-key": name, "aria-label": spoken, onclick: () => press(name) });
  const keys = make("div", { class: "keypad", role: "group", "aria-label": word("keypad") },
    ...[..."1234567890"].map((digit) => key(digit)), key("backspace", "⌫", word("backspace")));
  show();
  return { element: make("div", { class: "pin-pad" }, dots, said, keys), press };
}

/**
 * page: the block #people-data; changed(who): called with {person, printed, initials, session, csrf, pending} when
 * somebody else took the turn. Returns {open(), element}.
 */
export function createSwitcher(page, changed) {
  let pad = null;
  const title = make("h2", { tabindex: "-1" });
  const problem = make("p", { class: "error", role: "alert" });
  const body = make("div", { class: "switcher-body" });
  const sheet = make("dialog", { class: "switcher", "aria-labelledby": "switcher-title" },
    title, problem, body, button(word("close"), { class: "switcher-close", onclick: () => sheet.close() }));
  title.id = "switcher-title";

  function show(heading, ...children) {
    pad = null;
    title.textContent = heading;
    problem.textContent = "";
    replace(body, ...children);
    title.focus();
  }
  const say = (text) => { problem.textContent = text; };

  async function showTiles() {
    const [listed, now] = await Promise.all([people.withPin(page.establishment), people.atWork(page.establishment)]);
    const own = listed.some(({ person }) => person === page.person) || page.by !== "password" ? [] : [page];
    const tiles = [...listed, ...own].map((who) => tile(who, who.person === now?.person,
      () => (who === page ? showChoose(page) : showPin(who))));
    show(word("who-records"), make("ul", { class: "person-tiles" }, ...tiles), own.length > 0 && make("p", {}, word("pin-why")),
      button(word("someone-else"), { class: "wide", onclick: () => showPassword("") }));
  }
  function showPad(heading, entered) {
    const one = pinPad(entered);
    show(heading, one.element, button(word("back"), { class: "wide", onclick: showTiles }));
    pad = one;
  }
  function showPin(who) {
    showPad(word("pin-of", { name: who.printed }), async (pin) => {
      const { ok, left } = await people.tryPin(page.establishment, who.person, pin);
      if (ok) return turnTo(who);
      navigator.vibrate?.(WRONG);
      if (left) return say(word("pin-wrong", { n: left }));
      showPassword(word("pin-gone"));
    });
  }
  function showChoose(who) {
    showPad(word("pin-choose"), async (first) => {
      if (people.easilyGuessed(first)) return say(word("pin-easy"));
      showPad(word("pin-again"), async (second) => {
        if (first !== second) {
          showChoose(who);
          return say(word("pin-differs"));
        }
        await keepPin(who, second);
      });
    });
  }
  async function keepPin(who, pin) {
    const { establishment, enrol_url: url, csrf } = page;
    try {
      await credentials.current(establishment, who.person) ?? await credentials.enrol({
        url, csrf, establishment, person: who.person, deviceLabel: credentials.deviceLabel() });
    } catch (error) {
      return say(error.message || word("no-credential"));
    }
    await people.choosePin({ establishment, person: who.person, printed: who.printed, initials: who.initials }, pin);
    await showTiles();
    say("");
    title.textContent = word("pin-kept");
  }
  function showPassword(why) {
    const name = make("input", { id: "turn-name", autocomplete: "username", autocapitalize: "none", spellcheck: "false" });
    const password = make("input", { id: "turn-password", type: "password", autocomplete: "current-password" });
    const form = make("form", { class: "turn-form", onsubmit: (event) => { event.preventDefault(); signIn(name.value, password); } },
      make("label", { for: name.id }, word("sign-in-name")), name, make("label", { for: password.id }, word("password")), password,
      make("button", { class: "primary wide" }, word("sign-in")), button(word("back"), { class: "wide", onclick: showTiles }));
    show(word("someone-else"), form);
    say(why);
  }
  async function signIn(username, field) {
    try {
      const told = await people.post(page.password_turn_url, page.csrf, { username, password: field.value });
      const who = { person: told.person, printed: told.name, initials: told.initials };
      await become({ ...who, session: told.session, csrf: told.csrf, form_of: told.form_of, by: "password" });
      const known = await people.withPin(page.establishment);
      if (known.some(({ person }) => person === who.person)) sheet.close();
      else await showTiles();
    } catch (error) {
      field.value = "";
      say(error.status ? error.message : word("turn-no-answer"));
    }
  }
  /** The author changes at once; the server follows, now or when it is reached again. */
  async function turnTo(who) {
    try {
      const told = await people.takeTurn(page, who.person);
      await become({ ...who, session: told.session, csrf: told.csrf, form_of: told.form_of, by: "pin" });
    } catch (error) {
      if (error.part === "credential") {
        await people.forgetPin(page.establishment, who.person);
        await credentials.forget(page.establishment, who.person);
        return showPassword(error.message);
      }
      if (error.status) return say(error.message);
      await become({ ...who, session: page.session, csrf: page.csrf, by: page.by, pending: true });
    }
    sheet.close();
  }
  async function become(who) {
    await people.setAtWork(page.establishment, who);
    if (!who.pending) Object.assign(page, who);
    changed(who);
  }

  sheet.addEventListener("keydown", (event) => {
    // What is typed here belongs here: the page below listens to the keyboard and to scanners too.
    event.stopPropagation();
    if (!pad || event.ctrlKey || event.metaKey || event.altKey) return;
    const name = /^\d$/.test(event.key) ? event.key : { Backspace: "backspace" }[event.key];
    if (name) pad.press(name);
  });
  async function open() {
    if (!sheet.isConnected) document.body.append(sheet);
    await showTiles();
    if (!sheet.open) sheet.showModal();
    title.focus();
  }
  return { open, element: sheet };
}
