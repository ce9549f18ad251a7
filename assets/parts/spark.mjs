/** A short history: the least and greatest value of each short while, drawn as one curve that gaps break. */

/** The last while of one channel. Bounded: a ring of columns, older ones are overwritten. */
export class ColumnHistory {
  /**
   * @param {number} spanMs How far back it reaches.
   * @param {number} nColumns
   */
  constructor(spanMs, nColumns) {
    this.spanMs = spanMs;
    this.columnMs = spanMs / nColumns;
    this.gapMs = Infinity; // a longer pause between two values breaks the curve
    this._size = nColumns + 1; // the span begins within a column
    this._number = new Float64Array(this._size).fill(-1);
    this._low = new Float64Array(this._size);
    this._high = new Float64Array(this._size);
    this._first = new Uint8Array(this._size); // 1: the curve begins here
    this._lastMs = -Infinity;
    this._broken = true;
  }

  /** Forget everything. */
  clear() {
    this._number.fill(-1);
    this._lastMs = -Infinity;
    this._broken = true;
  }

  /** The next value begins a new curve. */
  breakOff() {
    this._broken = true;
  }

  /**
   * @param {number} atMs Session time; values come in the order of time.
   * @param {number} low
   * @param {number} high The same as `low` for a single value.
   */
  add(atMs, low, high) {
    if (!Number.isFinite(low) || !Number.isFinite(high) || atMs < 0) return;
    const number = Math.floor(atMs / this.columnMs);
    const slot = number % this._size;
    if (this._number[slot] === number) {
      this._low[slot] = Math.min(this._low[slot], low);
      this._high[slot] = Math.max(this._high[slot], high);
    } else if (number > this._number[slot]) {
      this._number[slot] = number;
      this._low[slot] = low;
      this._high[slot] = high;
      this._first[slot] = this._broken || atMs - this._lastMs > this.gapMs ? 1 : 0;
    } else {
      return; // older than what the ring still holds
    }
    this._lastMs = Math.max(this._lastMs, atMs);
    this._broken = false;
  }

  /**
   * @param {number} nowMs The span's end.
   * @param {(atMs: number, low: number, high: number, isFirst: boolean) => void} take Called for each column, old to new.
   */
  each(nowMs, take) {
    const last = Math.floor(nowMs / this.columnMs);
    for (let number = Math.max(0, last - this._size + 1); number <= last; number++) {
      const slot = number % this._size;
      if (this._number[slot] !== number) continue;
      take((number + 0.5) * this.columnMs, this._low[slot], this._high[slot], this._first[slot] === 1);
    }
  }
}

/**
 * Draw a history over the whole canvas, its right edge being now.
 * @param {CanvasRenderingContext2D} pen
 * @param {ColumnHistory} history
 * @param {{nowMs: number, low: number, high: number, colour: string, thickness: number, shade?: string,
 *     phases?: import('./phase-stretches.mjs').PhaseStretch[]}} view Ends of the upright scale in the unit; values beyond
 *     are drawn at the edge. Of the phases every other one is shaded, and a line stands where one begins.
 */
export function drawHistory(pen, history, {nowMs, low, high, colour, thickness, shade = '', phases = []}) {
  const {width, height} = pen.canvas;
  pen.clearRect(0, 0, width, height);
  if (!(high > low)) return;
  if (phases.length) drawPhases(pen, phases, {nowMs, spanMs: history.spanMs, shade, thickness});
  const margin = thickness;
  const up = (height - 2 * margin) / (high - low);
  const y = (value) => height - margin - (Math.min(high, Math.max(low, value)) - low) * up;
  pen.beginPath();
  let isEmpty = true;
  history.each(nowMs, (atMs, least, greatest, isFirst) => {
    const x = width - ((nowMs - atMs) / history.spanMs) * width;
    if (isFirst || isEmpty) pen.moveTo(x - thickness / 2, y(greatest)); // a lone value is seen as a dot
    pen.lineTo(x, y(greatest));
    pen.lineTo(x, y(least));
    isEmpty = false;
  });
  pen.strokeStyle = colour;
  pen.lineWidth = thickness;
  pen.lineJoin = 'round';
  pen.stroke();
}

/** What the phases are called stands on the bench pages; here only that another one began. */
function drawPhases(pen, phases, {nowMs, spanMs, shade, thickness}) {
  const {width, height} = pen.canvas;
  const x = (ms) => Math.round(width - ((nowMs - ms) / spanMs) * width);
  pen.fillStyle = shade;
  const line = Math.max(1, Math.round(thickness / 2));
  for (const {fromMs, toMs, isOdd, isBegun} of phases) {
    pen.globalAlpha = 0.35;
    if (isOdd) pen.fillRect(x(fromMs), 0, x(toMs) - x(fromMs), height);
    pen.globalAlpha = 1;
    if (isBegun) for (let y = 0; y < height; y += 6 * line) pen.fillRect(x(fromMs), y, line, 3 * line);
  }
}
