/** A board's text with everything in it made visible. Pure. */

const HIDDEN = /[\u0000-\u001f\u007f-\u009f\u00ad\u061c\u115f\u200b-\u200f\u2028-\u202e\u2060-\u206f\u3164\ufe00-\ufe0f\ufeff\ufff9-\ufffb]|[ ]+$|^[ ]+/g;

/**
 * Cut a text into what can be shown as it is and signs for what can't: control bytes, marks that turn the direction of
 * writing, letters without width, blanks at either end.
 * @param {string} text
 * @returns {{words: string, isSign: boolean}[]} In order; a sign stands for something that would not be seen.
 */
export function visiblePieces(text) {
  const pieces = [];
  let from = 0;
  for (const found of text.matchAll(HIDDEN)) {
    if (found.index > from) pieces.push({words: text.slice(from, found.index), isSign: false});
    pieces.push({words: signOf(found[0]), isSign: true});
    from = found.index + found[0].length;
  }
  if (from < text.length) pieces.push({words: text.slice(from), isSign: false});
  return pieces;
}

/** The control codes' names in ISO/IEC 646, in their order: pictures of them are in few fonts. */
const NAMES = ('NUL SOH STX ETX EOT ENQ ACK BEL BS TAB LF VT FF CR SO SI DLE DC1 DC2 DC3 DC4 NAK SYN ETB CAN EM SUB ESC FS GS '
  + 'RS US').split(' ');

function signOf(hidden) {
  if (hidden[0] === ' ') return '␣'.repeat(hidden.length);
  const code = hidden.charCodeAt(0);
  const name = code === 0x7f ? 'DEL' : NAMES[code] ?? `U+${code.toString(16).toUpperCase().padStart(4, '0')}`;
  return `⟨${name}⟩`;
}
