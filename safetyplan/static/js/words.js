/** Words shown by scripts come from the page ([data-word]), where they are translated. */

const listed = new Map();

// In the service worker there is no page: there the code stands for the words until a page shows it.
for (const item of globalThis.document?.querySelectorAll("[data-word]") ?? []) {
  listed.set(item.dataset.word, item.textContent.trim());
}

/** The text of a word with its {names} filled in; the code itself when the page lacks it. */
export function word(code, values = {}) {
  const template = listed.get(code) ?? code;
  return template.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}
