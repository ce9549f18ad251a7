/** Seeks without a crowd: one at a time, a few a second, the last one for sure. Knows no page. */

const APART_MS = 250;

export class Seeking {
  /**
   * @param {(positionMs: number) => Promise<{ok: boolean, words: string}>} seek
   * @param {(reply: {ok: boolean, words: string}) => void} onReply Called after each.
   */
  constructor(seek, onReply) {
    this._seek = seek;
    this._onReply = onReply;
    this._wanted = null;
    this._isUnderWay = false;
  }

  /** Whether a position is on its way or waits. */
  get isBusy() {
    return this._isUnderWay || this._wanted !== null;
  }

  /** @param {number} positionMs A newer wish takes the place of one that waits. */
  want(positionMs) {
    this._wanted = Math.round(positionMs);
    if (!this._isUnderWay) this._go();
  }

  async _go() {
    this._isUnderWay = true;
    while (this._wanted !== null) {
      const positionMs = this._wanted;
      this._wanted = null;
      const pause = new Promise((resolve) => setTimeout(resolve, APART_MS));
      const reply = await this._seek(positionMs);
      this._onReply(reply);
      if (!reply.ok) this._wanted = null; // a refused one is not asked for again and again
      await pause;
    }
    this._isUnderWay = false;
  }
}

/**
 * The marker to go to from a position.
 * @param {{t_ms: number}[]} markers Rising in time.
 * @param {number} positionMs
 * @param {-1 | 1} side
 * @param {number} [slackMs] One just passed is not the one before: a second press goes farther back.
 * @returns {{t_ms: number, words: string} | null}
 */
export function markerBeside(markers, positionMs, side, slackMs = 1500) {
  if (side > 0) return markers.find(({t_ms: ms}) => ms > positionMs + 1) ?? null;
  return markers.findLast(({t_ms: ms}) => ms < positionMs - slackMs) ?? null;
}
