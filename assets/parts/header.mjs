/** The header of every page: lesson, recording, connection, session clock; and the banner when the link is lost. */

import {setAttribute, write} from './page.mjs';
import {formatAge, formatClock} from './numbers.mjs';
import {createSeating} from './seating.mjs';

const TICK_MS = 250;

/**
 * @param {HTMLElement} header
 * @param {import('./link.mjs').Link} link
 */
export function fillHeader(header, link) {
  const part = (role) => header.querySelector(`[data-role=${role}]`);
  const parts = {
    lesson: part('lesson'), recording: part('recording'), connection: part('connection'), clock: part('clock'),
    banner: part('banner'),
  };
  const seating = createSeating(link);
  parts.connection.before(seating.element);
  const tick = () => showTick(parts, link);
  link.on('hello', (hello) => {
    showSession(parts, hello);
    seating.show(hello.boards ?? []);
    tick();
  });
  link.on('boards', ({boards}) => seating.show(boards));
  link.on('lesson', ({lesson}) => write(parts.lesson, lesson.title));
  link.on('link', tick);
  setInterval(tick, TICK_MS);
}

function showSession(parts, {lesson, session}) {
  write(parts.lesson, lesson.title || session.title);
  setAttribute(parts.lesson, 'title', lesson.note || null);
  write(parts.recording, recordingWords(session));
}

/**
 * @param {{source: string, recording: string | null}} session
 * @returns {string}
 */
export function recordingWords({source, recording}) {
  if (source === 'replay') return '▷ Replay';
  return recording ? '● Recording' : '○ Not recording';
}

function showTick(parts, link) {
  const lost = link.state === 'lost';
  write(parts.connection, {connecting: 'Connecting to the bridge …', open: 'Connected', lost: 'Not connected'}[link.state]);
  parts.connection.classList.toggle('out-of-sight', link.state === 'open'); // all is well: no room is taken
  if (link.hello) write(parts.clock, formatClock(link.now()));
  parts.banner.hidden = !lost;
  document.documentElement.toggleAttribute('data-link-lost', lost);
  if (lost) {
    const ago = formatAge(link.silentMs());
    write(parts.banner, `✕ Connection to the bridge lost ${ago} ago. What is shown is old. Trying again …`);
  }
}
