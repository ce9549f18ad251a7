/** A control and the words about what came of it, next to each other. */

import {make, setAttribute, write} from './page.mjs';

/** @returns {HTMLElement} The place for the words; read out when they change. */
export function createTold() {
  return make('p', {class: 'told-here', role: 'status', 'data-role': 'told'});
}

/**
 * Ask the bridge for something. A second press while the first is on its way does nothing.
 * @param {import('./link.mjs').Link} link
 * @param {object} message
 * @param {{told: HTMLElement, button: HTMLElement}} place
 * @returns {Promise<boolean>} Whether it was done.
 */
export async function ask(link, message, {told, button}) {
  if (button.getAttribute('aria-disabled') === 'true') return false;
  setAttribute(button, 'aria-disabled', 'true'); // not `disabled`: the focus would be lost
  write(told, 'Asking the bridge …');
  setAttribute(told, 'data-refused', null);
  const reply = await link.control(message);
  setAttribute(button, 'aria-disabled', null);
  setAttribute(told, 'data-refused', reply.ok ? null : '');
  write(told, `${reply.ok ? '✓' : '✕'} ${reply.words || (reply.ok ? 'done' : 'refused')}`);
  return reply.ok;
}
