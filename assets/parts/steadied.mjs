/** What comes and goes many times a second is shown so that nobody is dazzled and nobody is talked at. Pure: time is passed in. */

const HOLD_MS = 1000; // it stays so long: no more than one change to and fro a second (WCAG 2.3.1 allows three)

/** Lets an urgent look, whose ground alone is bright, come at once, and go only when it has stood for a second. */
export class HeldLook {
  constructor() {
    /** @type {import('./attention.mjs').Attention | null} */
    this._shown = null;
    this._sinceMs = -Infinity;
  }

  /**
   * @param {import('./attention.mjs').Attention} next
   * @param {number} nowMs By a clock that never goes back.
   * @returns {import('./attention.mjs').Attention} What is to be shown: to be asked again and again, for a calmer look comes later.
   */
  take(next, nowMs) {
    const [is, was] = [next.level === 'urgent', this._shown?.level === 'urgent'];
    if (was && !is && nowMs - this._sinceMs < HOLD_MS) return this._shown;
    if (is && !was) this._sinceMs = nowMs;
    this._shown = next;
    return next;
  }
}

/** Says of each thing whether it may be told again: not within a minute, unless it was forgotten. */
export class Seldom {
  /** @param {number} gapMs */
  constructor(gapMs = 60_000) {
    this._gapMs = gapMs;
    /** @type {Map<string, number>} When each was told; bounded by the things that there are. */
    this._toldAt = new Map();
  }

  /** @param {string} name @param {number} nowMs @returns {boolean} */
  may(name, nowMs) {
    if (nowMs - (this._toldAt.get(name) ?? -Infinity) < this._gapMs) return false;
    this._toldAt.set(name, nowMs);
    return true;
  }

  /** It is settled; when it comes anew, that is news. @param {string} name */
  forget(name) {
    this._toldAt.delete(name);
  }
}
