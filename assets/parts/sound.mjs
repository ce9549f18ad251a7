/** Short tones for new calls, made in the browser: which for which priority, when, how loud. Off until somebody wants them. */

const GAP_MS = 5000; // at most one sound in so long, however many calls come
const CLAIM_MS = 4000; // shorter than the gap: the next sound of the same page finds it free
const SILENCE_MS = 5 * 60_000;
const ATTACK_S = 0.012; // a tone that begins at once clicks
const KEPT = 'benchrow.sound';
const USUAL = {on: false, volume: 40, silentUntil: 0};
const PRIORITIES = ['high', 'medium', 'low'];

/**
 * What is heard: the more urgent, the more tones and the higher.
 * @type {Record<string, {hertz: number, fromSeconds: number, seconds: number}[]>}
 */
export const PATTERNS = {
  high: [
    {hertz: 740, fromSeconds: 0, seconds: 0.16}, {hertz: 880, fromSeconds: 0.22, seconds: 0.16},
    {hertz: 1047, fromSeconds: 0.44, seconds: 0.28},
  ],
  medium: [{hertz: 587, fromSeconds: 0, seconds: 0.2}, {hertz: 740, fromSeconds: 0.28, seconds: 0.28}],
  low: [{hertz: 440, fromSeconds: 0, seconds: 0.35}],
};

/**
 * Put a pattern's tones into an audio context.
 * @param {BaseAudioContext} context
 * @param {string} priority
 * @param {number} volume 0 to 100.
 * @returns {number} How many tones.
 */
export function playPattern(context, priority, volume) {
  const tones = PATTERNS[priority] ?? PATTERNS.low;
  const loudness = (Math.min(100, Math.max(0, volume)) / 100) ** 2; // what the ear takes for even steps
  for (const {hertz, fromSeconds, seconds} of tones) {
    const from = context.currentTime + fromSeconds;
    const tone = context.createOscillator();
    const gain = context.createGain();
    tone.type = 'triangle';
    tone.frequency.value = hertz;
    gain.gain.setValueAtTime(0, from);
    gain.gain.linearRampToValueAtTime(loudness, from + ATTACK_S);
    gain.gain.setValueAtTime(loudness, from + seconds - 3 * ATTACK_S);
    gain.gain.linearRampToValueAtTime(0, from + seconds);
    tone.connect(gain).connect(context.destination);
    tone.start(from);
    tone.stop(from + seconds);
  }
  return tones.length;
}

/**
 * @typedef {'off' | 'blocked' | 'silent' | 'on'} SoundState
 * blocked: the browser lets no sound out before somebody presses something on the page.
 */

export class Sounds {
  /**
   * @param {{makeContext?: () => AudioContext, now?: () => number, later?: (does: () => void, ms: number) => number,
   *     storage?: Storage, claim?: () => true | Promise<boolean>}} [edges] claim: whether this page may sound now.
   */
  constructor({makeContext, now, later, storage, claim} = {}) {
    this._makeContext = makeContext ?? (() => new AudioContext());
    this._now = now ?? (() => Date.now());
    this._later = later ?? ((does, ms) => setTimeout(does, ms));
    this._storage = storage ?? localStorage;
    this._claim = claim ?? claimForThisPage;
    this._context = null; // made at the first need: with sound off there is none
    this._heardAt = -Infinity;
    /** @type {Map<string, string>} New calls whose sound waits for the gap's end, and their priorities. */
    this._waiting = new Map();
    this._isDue = false;
    /** Called whenever `state` may have changed. */
    this.onChange = () => {};
    this.readKept();
  }

  /** Take what this browser remembers: at the start, and when another page of it chose anew. */
  readKept() {
    Object.assign(this, this._kept());
    if (this.on) this._wake();
    this.onChange();
  }

  /** @returns {SoundState} */
  get state() {
    if (!this.on) return 'off';
    if (this._context?.state !== 'running') return 'blocked';
    return this.silentMs > 0 ? 'silent' : 'on';
  }

  /** How much of the silence is left. */
  get silentMs() {
    return Math.max(0, this.silentUntil - this._now());
  }

  /** @param {boolean} on */
  setOn(on) {
    this.on = on;
    this.silentUntil = 0;
    this._waiting.clear();
    this._keep();
    if (on) this._wake();
    this.onChange();
  }

  /** @param {number} volume 0 to 100. */
  setVolume(volume) {
    this.volume = volume;
    this._keep();
  }

  /** Quiet for five minutes; a second press ends it. */
  silence() {
    this.silentUntil = this.silentMs > 0 ? 0 : this._now() + SILENCE_MS;
    this._waiting.clear();
    this._keep();
    this.onChange();
  }

  /** Hear a pattern now; a press is what browsers ask for. @param {string} priority */
  async tryOut(priority) {
    await this._wake();
    playPattern(this._context, priority, this.volume);
    this.onChange();
  }

  /**
   * @param {{call: import('./calls.mjs').Call, at: import('./calls.mjs').AtBench}[]} fresh New calls.
   * @param {import('./calls.mjs').Calls} calls All of them: what was attended to meanwhile makes no sound.
   */
  take(fresh, calls) {
    const open = new Set(calls.list.flatMap(({id, benches}) => benches.filter((at) => !at.attended).map((at) => `${id} ${at.bench}`)));
    for (const key of this._waiting.keys()) if (!open.has(key)) this._waiting.delete(key);
    if (this.state !== 'on') return;
    for (const {call, at} of fresh) this._waiting.set(`${call.id} ${at.bench}`, call.priority);
    this._sound();
  }

  /** One sound for all that wait, the most urgent; later when one was just heard. */
  _sound() {
    if (!this._waiting.size || this._isDue) return;
    const waitMs = this._heardAt + GAP_MS - this._now();
    if (waitMs > 0) {
      this._isDue = true;
      this._later(() => {
        this._isDue = false;
        if (this.state === 'on') this._sound();
      }, waitMs);
      return;
    }
    const found = new Set(this._waiting.values());
    this._waiting.clear();
    this._heardAt = this._now();
    const play = () => playPattern(this._context, PRIORITIES.find((one) => found.has(one)) ?? 'low', this.volume);
    const claimed = this._claim();
    if (claimed === true) play();
    else claimed.then((isOurs) => isOurs && play());
  }

  async _wake() {
    if (!this._context) {
      this._context = this._makeContext();
      this._context.onstatechange = () => this.onChange();
    }
    if (this._context.state !== 'running') {
      // Before a press this stays open for ever: nobody waits for it but a press of the sound's own.
      await Promise.race([this._context.resume(), new Promise((done) => this._later(done, 500))]);
    }
  }

  /** A press anywhere on the page is what browsers wait for. */
  allowByPress() {
    if (this.on && this._context?.state !== 'running') this._wake();
  }

  _kept() {
    try {
      const {on, volume, silentUntil} = JSON.parse(this._storage.getItem(KEPT)) ?? {};
      return {
        on: on === true, volume: Number.isFinite(volume) ? Math.min(100, Math.max(0, volume)) : USUAL.volume,
        silentUntil: Number.isFinite(silentUntil) ? Math.min(silentUntil, this._now() + SILENCE_MS) : 0,
      };
    } catch { // somebody else's text, or a browser that keeps nothing
      return USUAL;
    }
  }

  _keep() {
    try {
      this._storage.setItem(KEPT, JSON.stringify({on: this.on, volume: this.volume, silentUntil: this.silentUntil}));
    } catch { // a browser that keeps nothing: it holds for this page
    }
  }
}

/**
 * The wall and the call list may stand open side by side in one browser: one of them makes the sound. Browsers can tell that
 * on pages of this machine and over https; elsewhere each page sounds.
 * @returns {true | Promise<boolean>}
 */
function claimForThisPage() {
  if (!navigator.locks) return true;
  return new Promise((tell) => {
    navigator.locks.request('benchrow.sound', {ifAvailable: true}, (lock) => {
      tell(lock !== null);
      return lock && new Promise((done) => setTimeout(done, CLAIM_MS));
    });
  });
}
