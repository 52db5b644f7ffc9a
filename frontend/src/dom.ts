/** Small helpers over the page. */

/** Make an element with attributes, text and children. */
export function make<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Record<string, string> = {},
  ...inside: (Node | string)[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...inside);
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

/** Make an SVG element with presentation attributes. */
export function makeSvg<K extends keyof SVGElementTagNameMap>(
  tag: K,
  attributes: Record<string, string | number> = {},
): SVGElementTagNameMap[K] {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  return element;
}

/** The element itself, where it fits, and all that fit inside it. */
export function all<E extends Element>(root: ParentNode, selector: string): E[] {
  const inside = Array.from(root.querySelectorAll<E>(selector));
  return root instanceof Element && root.matches(selector) ? [root as unknown as E, ...inside] : inside;
}

/** The value of a named field of a form, or nothing. */
export function fieldValue(form: HTMLFormElement, name: string): string {
  const value = new FormData(form).get(name);
  return typeof value === "string" ? value : "";
}

/** The forgery token that every writing request carries. */
export function csrf(): string {
  return document.querySelector<HTMLMetaElement>('meta[name="csrf"]')?.content ?? "";
}

/** Put a fresh forgery token wherever the page holds one. */
export function renewCsrf(token: string): void {
  document.querySelector('meta[name="csrf"]')?.setAttribute("content", token);
  for (const field of document.querySelectorAll<HTMLInputElement>('input[name="csrf"]')) {
    field.value = token;
  }
}

/** True where the grower asked for less motion. */
export function calm(): boolean {
  return matchMedia("(prefers-reduced-motion: reduce)").matches;
}
