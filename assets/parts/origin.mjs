/** The address of a web server, as a person types it. Pure. */

/**
 * The origin of what a person typed.
 * @param {string} text "192.168.1.20:8050" will do.
 * @returns {string | null} null when it is none.
 */
export function originOf(text) {
  const words = text.trim();
  if (/[\s%]/.test(words)) return null; // a browser would write them otherwise
  try {
    const {protocol, origin} = new URL(/^[a-z]+:\/\//i.test(words) ? words : `${location.protocol}//${words}`);
    return words && /^https?:$/.test(protocol) ? origin : null;
  } catch { // no address
    return null;
  }
}
