/** Small helpers to build elements. Text is always set as text, never parsed as HTML. */

export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

export const button = (label, attributes = {}) => make("button", { type: "button", ...attributes }, label);

export function replace(element, ...children) {
  element.replaceChildren(...children.filter(Boolean));
}
