/** Words shown by scripts come from the page (#capture-words), where they are translated. */

const listed = new Map();

for (const item of document.querySelectorAll("#capture-words [data-word]")) {
  listed.set(item.dataset.word, item.textContent.trim());
}

/** The text of a word with its {names} filled in; the code itself when the page lacks it. */
export function word(code, values = {}) {
  const template = listed.get(code) ?? code;
  return template.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}
