/** Making, finding and writing elements. Words go in as text, never as markup. */

const SVG = 'http://www.w3.org/2000/svg';

/**
 * @param {string} tag
 * @param {Record<string, string | number>} [attributes]
 * @param {...(Node | string)} children
 * @returns {HTMLElement}
 */
export function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/**
 * The same for SVG.
 * @param {string} tag
 * @param {Record<string, string | number>} [attributes]
 * @param {...(Node | string)} children
 * @returns {SVGElement}
 */
export function makeSvg(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/**
 * Write an element's text only when it changes: what stays is not laid out again.
 * @param {Element} element Holds text and nothing else.
 * @param {string} words
 */
export function write(element, words) {
  const first = element.firstChild;
  if (first === null) {
    if (words !== '') element.textContent = words;
  } else if (first.data !== words) {
    first.data = words;
  }
}

/**
 * Set an attribute only when it changes.
 * @param {Element} element
 * @param {string} name
 * @param {string | null} value null takes it away.
 */
export function setAttribute(element, name, value) {
  if (value === null) {
    if (element.hasAttribute(name)) element.removeAttribute(name);
  } else if (element.getAttribute(name) !== value) {
    element.setAttribute(name, value);
  }
}

/**
 * Dash puts the page's elements in after the scripts have started.
 * @param {string} selector
 * @param {(element: HTMLElement) => void} use Called once, as soon as the element stands in the page; never on a page without it.
 */
export function whenPresent(selector, use) {
  const found = document.querySelector(selector);
  if (found) {
    use(found);
    return;
  }
  const watch = new MutationObserver(() => {
    const element = document.querySelector(selector);
    if (!element) return;
    watch.disconnect();
    use(element);
  });
  watch.observe(document.body, {childList: true, subtree: true});
}

/**
 * Have words read out by a screen reader, after what it is reading now.
 * @param {string} words
 */
export function announce(words) {
  const place = document.getElementById('announcements');
  if (!place) return;
  place.append(make('p', {}, words));
  while (place.childElementCount > 8) place.firstElementChild.remove(); // read out long ago
}
