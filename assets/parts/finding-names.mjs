/** What a kind of finding is called where its sentence has no room. Pure. */

/** Kinds that say little by themselves; every other one is its own name. */
const NAMES = {
  'no UTF-8': 'odd degree sign',
  'no text': 'unreadable text',
  'lost zeros': 'zeros get lost',
  'board clock': 'its clock is wrong',
  'line rate': 'wrong rate of lines',
  'bottom rail': 'pin at 0 V',
  'top rail': 'pin at full voltage',
  'floating input': 'nothing on the pin?',
  'stuck': 'number never changes',
  'neighbour': 'follows another pin',
  'too coarse': 'digits too coarse',
  'placeholder value': 'not a measured value',
  'unsigned below zero': 'wrong below zero',
};

/** @param {string} kind As the bridge names it. @returns {string} In a few plain words. */
export const findingName = (kind) => NAMES[kind] ?? kind;
