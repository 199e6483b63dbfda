/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
/** Building and updating the document: what stays the same is left alone, so that nothing loses the keyboard. */

type Attributes = Readonly<Record<string, string | number | boolean | undefined>>;

/** An element of the page's document with attributes and children; `true` sets an attribute without a value. */
export function element<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Attributes = {},
  ...children: readonly (Node | string)[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== false) made.setAttribute(name, value === true ? '' : String(value));
  }
  made.append(...children);
  return made;
}

/** Sets a text, when it is another. */
export function setText(node: Element, text: string): void {
  if (node.textContent !== text) node.textContent = text;
}

/** Sets or takes away an attribute, when it is another. */
export function setAttribute(node: Element, name: string, value: string | number | null): void {
  if (value === null) node.removeAttribute(name);
  else if (node.getAttribute(name) !== String(value)) node.setAttribute(name, String(value));
}

/**
 * Makes the children of a parent fit items, one for each: those that are there are used again, in order.
 * @param make an empty child
 * @param fill puts an item into a child
 */
export function matchChildren<T, E extends Element>(
  parent: Element,
  items: readonly T[],
  make: () => E,
  fill: (child: E, item: T, index: number) => void,
): void {
  while (parent.children.length > items.length) parent.lastElementChild?.remove();
  for (const [i, item] of items.entries()) {
    let child = parent.children[i] as E | undefined;
    if (!child) {
      child = make();
      parent.append(child);
    }
    fill(child, item, i);
  }
}

/** An SVG text as an element; undefined when it is none. Nothing in it is run. */
export function svgOf(text: string): Element | undefined {
  const root = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
  return root.localName === 'svg' ? document.importNode(root, true) : undefined;
}
