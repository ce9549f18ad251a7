/** The key by which a group speaks for its bench: from the address that its code leads to, kept for this tab. */

const nameFor = (bench) => `benchrow.key.${bench}`;

/**
 * Take the key out of the address, where it would be seen and passed on, and keep it, so that a reload works.
 * @param {number} bench
 * @returns {string | null} null on a page that no group opened by its code.
 */
export function keyOfBench(bench) {
  const found = /^#k=(.+)$/.exec(location.hash);
  if (found) {
    try {
      sessionStorage.setItem(nameFor(bench), decodeURIComponent(found[1]));
    } catch { // not the way an address writes letters: it is no key
    }
    history.replaceState(history.state, '', location.pathname + location.search);
  }
  return sessionStorage.getItem(nameFor(bench));
}

/** @param {number} bench */
export function forgetKey(bench) {
  sessionStorage.removeItem(nameFor(bench));
}
