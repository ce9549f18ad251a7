/** Bringing a list's elements into a new order without taking the focus from one of them. */

/**
 * What has the focus is never taken out of the page, not even for a moment: the others are moved around it.
 * @param {Element} parent
 * @param {Element[]} wanted Its children, in their order; others are taken away.
 */
export function arrange(parent, wanted) {
  const kept = new Set(wanted);
  for (const child of [...parent.children]) if (!kept.has(child)) child.remove();
  const held = wanted.find((one) => one.contains(document.activeElement)) ?? null;
  wanted.forEach((element, i) => {
    while (element === held && parent.children[i] !== held) parent.append(parent.children[i]); // each has its turn later
    if (parent.children[i] !== element) parent.insertBefore(element, parent.children[i] ?? null);
  });
}
