// Small helpers. Text only ever goes in as text.

export const by = (id) => document.getElementById(id);

/** Sets text if it differs: screen readers repeat what is set again. */
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function show(element, visible) {
  if (element.hidden === visible) element.hidden = !visible;
}

/** Signs beside the words: a state is told by either. */
export const SIGNS = { good: "✓", info: "i", warn: "▲", bad: "✗" };

/** A number with one decimal and a true minus sign; a dash where it is not known. */
export function number(value, digits = 1) {
  return value === null || value === undefined ? "–" : value.toFixed(digits).replace("-", "−");
}

export function degrees(value) {
  return `${number(value, Number.isInteger(value) ? 0 : 1)}°`;
}

const SVG = "http://www.w3.org/2000/svg";

export function svg(name, attributes, parent) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  parent?.append(element);
  return element;
}
