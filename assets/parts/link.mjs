/**
 * The page's one connection to the bridge: messages, the session's clock, controls.
 * Knows nothing of what is shown; subscribers do.
 */

import {askPasscode, keepPasscode, knownPasscode, takePasscodeFromAddress} from './passcode.mjs';

const SUBPROTOCOL = 'benchrow.v1';
const FIRST_WAIT_MS = 200;
const LONGEST_WAIT_MS = 2000;
const SILENCE_MS = 1500; // heartbeats come each 500 ms: three missed
const GIVE_UP_MS = 4000; // a socket silent for so long, or not yet open, is left and another one tried
const CHECK_MS = 250;
const REPLY_MS = 10000; // wrong passcodes are answered slowly

const HERE = new Set(['127.0.0.1', 'localhost', '[::1]', '::1', '0.0.0.0', '[::]', '']);

/**
 * The bridge's address as this page reaches it: a page opened from another machine finds a bridge that listens "here"
 * under the name by which it found the page.
 * @param {string} given As the dashboard was told, for example "ws://127.0.0.1:8765".
 * @param {string} pageHost `location.hostname`.
 * @returns {string}
 */
export function bridgeAddress(given, pageHost) {
  const url = new URL(given);
  if (HERE.has(url.hostname) && !HERE.has(pageHost)) url.hostname = pageHost;
  return url.href;
}

/**
 * How long to wait before the next attempt.
 * @param {number} nFailures Attempts that failed in a row, from 1.
 * @returns {number} ms
 */
export function waitBeforeAttempt(nFailures) {
  return Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.max(0, nFailures - 1));
}

/**
 * @typedef {'connecting' | 'open' | 'lost'} LinkState
 * connecting: never yet connected; open: messages come; lost: they came and have stopped.
 * @typedef {{ok: boolean, words: string}} Reply
 */

export class Link {
  /**
   * @param {string} url
   * @param {{open?: (url: string, protocol: string) => WebSocket,
   *     askPasscode?: (words: string) => Promise<string | null>}} [edges]
   */
  constructor(url, edges = {}) {
    this.url = url;
    this.open = edges.open ?? ((address, protocol) => new WebSocket(address, protocol));
    this.ask = edges.askPasscode ?? askPasscode;
    /** @type {LinkState} */
    this.state = 'connecting';
    /** The newest hello; null before the first. */
    this.hello = null;
    /** `performance.now()` of the last message: ages count from here when the link is lost. */
    this.heardAt = performance.now();
    this.speed = 1;
    this._sessionMs = 0;
    this._sessionAt = performance.now();
    /** @type {Map<string, Set<(message: any) => void>>} */
    this._subscribers = new Map();
    /** @type {Map<number, {resolve: (answer: any) => void, timer: number}>} bounded: each is dropped after REPLY_MS */
    this._waiting = new Map();
    this._nextId = 1;
    this._socket = null;
    this._socketAt = 0;
    this._nFailures = 0;
    this._checkedAt = 0;
    this._followed = null;
    this._surveys = false;
    this._unlocked = false;
    /** @type {Promise<Reply> | null} */
    this._unlocking = null;
    this._started = false;
  }

  /**
   * Have a function called with each message of a kind ("hello", "frame", ...; "link" tells of `state`).
   * The first subscription opens the connection. A late subscriber to "hello" gets the newest one at once.
   * @param {string} kind
   * @param {(message: any) => void} take
   * @returns {() => void} Ends the subscription.
   */
  on(kind, take) {
    if (!this._subscribers.has(kind)) this._subscribers.set(kind, new Set());
    this._subscribers.get(kind).add(take);
    if (kind === 'hello' && this.hello) take(this.hello);
    this.start();
    return () => this._subscribers.get(kind).delete(take);
  }

  /** Open the connection and keep it open. */
  start() {
    if (this._started) return;
    this._started = true;
    // Not at once: every script of the page subscribes before the hello comes.
    queueMicrotask(() => this._connect());
    this._checkedAt = performance.now();
    setInterval(() => this._check(), CHECK_MS);
  }

  /** @returns {number} The session's time in ms, now. Goes on by itself while the link is lost. */
  now() {
    return this._sessionMs + (performance.now() - this._sessionAt) * this.speed;
  }

  /** @returns {number} ms since the last message. */
  silentMs() {
    return performance.now() - this.heardAt;
  }

  /** @returns {boolean} Whether this connection has given the passcode; a lost one has not. */
  get isUnlocked() {
    return this._unlocked;
  }

  /**
   * Ask the bridge to change something. Unlocks the connection first, asking for the passcode when none is known.
   * @param {object} message For example {kind: 'acknowledge', alarm: '3/temperature/high'}.
   * @returns {Promise<Reply>} Never rejects: a lost link or a closed dialog answers ok: false with words.
   */
  async control(message) {
    const unlocked = await this._unlock();
    if (!unlocked.ok) return unlocked;
    return this._request(message);
  }

  /**
   * Ask the bridge for something that needs no passcode.
   * @param {object} message For example {kind: 'ask', bench: 3, want: 'help', key: '…'}.
   * @returns {Promise<Reply>} As of `control`.
   */
  request(message) {
    return this._request(message);
  }

  /**
   * Have the bridge send one bench's lines, also after a reconnection.
   * @param {number | null} bench null: no longer.
   */
  follow(bench) {
    this._followed = bench;
    this._send({kind: 'follow', bench});
  }

  /** Have the bridge tell how every bench's text is understood and who is steady, also after a reconnection. */
  survey() {
    this._surveys = true;
    this._send({kind: 'survey', on: true});
  }

  /**
   * A piece of a channel's history.
   * @param {{bench: number, channel: number, from_ms: number, to_ms: number, rows: number}} span
   * @returns {Promise<any>} The history message, null when none came.
   */
  async history(span) {
    const answer = await this._request({kind: 'history', ...span});
    return answer.kind === 'history' ? answer : null;
  }

  /**
   * Something that takes the bridge a moment to work out.
   * @param {{kind: 'journal', after: number} | {kind: 'proposals', bench: number}} question
   * @returns {Promise<any>} The answer of that kind, null when none came.
   */
  async look(question) {
    const answer = await this._request(question);
    return answer.kind === question.kind ? answer : null;
  }

  _connect() {
    const socket = this.open(this.url, SUBPROTOCOL);
    this._socket = socket;
    this._socketAt = performance.now();
    socket.onmessage = (event) => this._take(event.data);
    socket.onclose = () => this._closed(socket);
  }

  _closed(socket) {
    if (socket !== this._socket) return;
    this._leave();
    this._nFailures += 1;
    setTimeout(() => this._connect(), waitBeforeAttempt(this._nFailures));
  }

  /** Drop the socket and what hung on it. */
  _leave() {
    const socket = this._socket;
    this._socket = null;
    this._unlocked = false;
    if (socket) {
      socket.onmessage = null;
      socket.onclose = null;
      socket.close();
    }
    for (const id of [...this._waiting.keys()]) this._settle(id, lostReply());
    if (this.state === 'open') this._setState('lost');
  }

  _check() {
    const now = performance.now();
    const late = now - this._checkedAt > 4 * CHECK_MS;
    this._checkedAt = now;
    if (late || !this._socket) return; // the page itself was busy: messages may be waiting behind this call
    if (this.state === 'open' && now - this.heardAt > SILENCE_MS) this._setState('lost');
    if (now - Math.max(this._socketAt, this.heardAt) > GIVE_UP_MS) this._closed(this._socket);
  }

  _take(text) {
    const message = JSON.parse(text);
    this.heardAt = performance.now();
    if (message.kind === 'frame') this._setClock(message.now, message.speed);
    if (message.kind === 'hello') this._greeted(message);
    else if (this.state === 'lost' && this.hello) this._setState('open'); // it was only silent
    if (message.to !== undefined && this._waiting.has(message.to)) this._settle(message.to, message);
    this._publish(message.kind, message);
  }

  _greeted(hello) {
    this.hello = hello;
    this._nFailures = 0;
    const paused = hello.replay && !hello.replay.playing;
    this._setClock(hello.session.now_ms, hello.replay ? (paused ? 0 : hello.replay.speed) : 1);
    if (this._followed !== null) this._send({kind: 'follow', bench: this._followed});
    if (this._surveys) this._send({kind: 'survey', on: true});
    this._setState('open');
  }

  _setClock(sessionMs, speed) {
    this._sessionMs = sessionMs;
    this._sessionAt = this.heardAt;
    this.speed = speed;
  }

  _setState(state) {
    if (state === this.state) return;
    this.state = state;
    this._publish('link', {kind: 'link', state});
  }

  _publish(kind, message) {
    for (const take of this._subscribers.get(kind) ?? []) take(message);
  }

  _send(message) {
    if (this._socket?.readyState !== WebSocket.OPEN) return false;
    this._socket.send(JSON.stringify(message));
    return true;
  }

  /** @returns {Promise<any>} The reply, or the history message; a reply of our own when none came. */
  _request(message) {
    const id = this._nextId++;
    return new Promise((resolve) => {
      const timer = setTimeout(() => this._settle(id, lateReply()), REPLY_MS);
      this._waiting.set(id, {resolve, timer});
      if (!this._send({...message, id})) this._settle(id, lostReply());
    });
  }

  _settle(id, answer) {
    const waiting = this._waiting.get(id);
    if (!waiting) return;
    this._waiting.delete(id);
    clearTimeout(waiting.timer);
    waiting.resolve(answer);
  }

  /** Unlock once for all who ask at the same time. */
  _unlock() {
    if (this._unlocked) return Promise.resolve({ok: true, words: ''});
    this._unlocking ??= this._unlockNow().finally(() => { this._unlocking = null; });
    return this._unlocking;
  }

  async _unlockNow() {
    let words = '';
    for (;;) {
      const passcode = knownPasscode() ?? await this.ask(words);
      if (passcode === null) return {ok: false, words: 'Nothing was changed: no passcode was given.'};
      const reply = await this._request({kind: 'unlock', passcode});
      if (reply.ok) {
        keepPasscode(passcode);
        this._unlocked = true;
        return reply;
      }
      if (reply.ownWords) return reply; // lost or late: the passcode may well be right
      keepPasscode(null);
      words = reply.words || 'That passcode is not right.';
    }
  }
}

const lostReply = () => ({ok: false, ownWords: true, words: 'The bridge is not connected. Try again when it is back.'});
const lateReply = () => ({ok: false, ownWords: true, words: 'The bridge gave no answer. Try again.'});

let link = null;

/** @returns {Link} The page's link; every script of the page shares it. */
export function pageLink() {
  if (!link) {
    takePasscodeFromAddress();
    link = new Link(bridgeAddress(document.documentElement.dataset.bridge, location.hostname));
  }
  return link;
}
