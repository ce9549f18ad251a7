/** The control of the sound: a button that says how it stands, a silence press, and a dialog to choose in. */

import {make, setAttribute, write} from './page.mjs';
import {Sounds} from './sound.mjs';

const TICK_MS = 1000;
const WORDS = {off: '♪ Sound off', blocked: '♪ Sound blocked', silent: '♪ Silent', on: '♪ Sound on'};
const MORE = {
  off: 'No sound is made.',
  blocked: 'The browser lets no sound out until somebody presses a key or a button on this page.',
  silent: '',
  on: 'A short sound is made when a new call comes: three tones for high priority, two for medium, one for low. At most one sound in 5 seconds.',
};
const TRIED = [['high', 'High'], ['medium', 'Medium'], ['low', 'Low']];

export class SoundControl {
  constructor() {
    this.sounds = new Sounds();
    this.sounds.onChange = () => this.show();
    this._open = make('button', {type: 'button', class: 'sound-button', 'data-role': 'sound', 'aria-haspopup': 'dialog'});
    this._silence = make('button', {type: 'button', class: 'sound-button', 'data-role': 'silence'});
    this._open.addEventListener('click', () => this._openDialog());
    this._silence.addEventListener('click', () => this.sounds.silence());
    this.element = make('span', {class: 'sound'}, this._open, this._silence);
    this._buildDialog();
    for (const kind of ['pointerdown', 'keydown']) document.addEventListener(kind, () => this.sounds.allowByPress());
    addEventListener('storage', () => this.sounds.readKept());
    setInterval(() => this.show(), TICK_MS);
    this.show();
  }

  _buildDialog() {
    const {sounds} = this;
    this._on = make('input', {type: 'checkbox', id: 'sound-on', 'data-role': 'sound-on'});
    this._volume = make('input', {type: 'range', id: 'sound-volume', min: 0, max: 100, step: 5, 'data-role': 'volume'});
    this._number = make('output', {for: 'sound-volume', 'data-role': 'volume-words'});
    this._more = make('p', {class: 'sound-more', role: 'status', 'data-role': 'sound-words'});
    const close = make('button', {type: 'button', class: 'chief'}, 'Close');
    const tries = TRIED.map(([priority, words]) => {
      const button = make('button', {type: 'button', 'data-try': priority, 'aria-label': `Try it: ${priority} priority`}, words);
      button.addEventListener('click', () => sounds.tryOut(priority));
      return button;
    });
    this._dialog = make('dialog', {class: 'passcode sound-dialog', 'aria-labelledby': 'sound-title'},
      make('h2', {id: 'sound-title'}, 'Sound for new calls'),
      make('label', {class: 'check', for: 'sound-on'}, this._on, 'Make a sound when a new call comes'),
      make('p', {class: 'sound-volume'}, make('label', {for: 'sound-volume'}, 'Volume'), this._volume, this._number),
      make('div', {class: 'acts', role: 'group', 'aria-label': 'Try it'}, make('span', {class: 'sound-try'}, 'Try it:'), ...tries),
      this._more, make('div', {class: 'passcode-choices'}, close));
    this._on.addEventListener('change', () => sounds.setOn(this._on.checked));
    this._volume.addEventListener('input', () => {
      sounds.setVolume(Number(this._volume.value));
      this.show();
    });
    close.addEventListener('click', () => this._dialog.close());
  }

  _openDialog() {
    if (!this._dialog.isConnected) document.body.append(this._dialog);
    this.show();
    this._dialog.showModal();
  }

  /** New calls came, or others are over. See `Sounds.take`. */
  take(fresh, calls) {
    this.sounds.take(fresh, calls);
  }

  show() {
    const {state, on, volume, silentMs} = this.sounds;
    const left = silentWords(silentMs);
    write(this._open, state === 'silent' ? `${WORDS.silent} ${left}` : WORDS[state]);
    setAttribute(this._open, 'title', MORE[state] || null);
    const canSilence = state === 'on' || state === 'silent';
    if (!canSilence && this._silence === document.activeElement) this._open.focus();
    this._silence.hidden = !canSilence;
    write(this._silence, state === 'silent' ? 'Sound again' : 'Silence');
    setAttribute(this._silence, 'title', state === 'silent' ? null : 'No sound for 5 minutes');
    this._on.checked = on;
    if (this._volume.value !== String(volume)) this._volume.value = String(volume);
    setAttribute(this._volume, 'aria-valuetext', `${volume} percent`);
    write(this._number, `${volume} %`);
    write(this._more, state === 'silent' ? 'No sound until the silence is over; “Sound again” ends it.' : MORE[state]);
  }
}

/** @param {number} ms @returns {string} "for 4 min more", "for 50 s more": in steps, so that it does not run. */
export function silentWords(ms) {
  const seconds = Math.ceil(ms / 1000);
  if (seconds > 60) return `for ${Math.ceil(seconds / 60)} min more`;
  return `for ${10 * Math.ceil(seconds / 10)} s more`;
}
