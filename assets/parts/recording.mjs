/** Ending and beginning the recording, from the header of any page. Not shown in a replay. */

import {isSure} from './confirming.mjs';
import {make, setAttribute, write} from './page.mjs';

const ASKED = {
  title: 'End the recording?', words: 'From then on nothing is kept of what the boards send. The recording so far stays.',
  stay: 'Go on recording', go: 'End the recording',
};

/**
 * Put the control into the header, behind the words about the recording.
 * @param {HTMLElement} header
 * @param {import('./link.mjs').Link} link
 */
export function fitRecordingControl(header, link) {
  const button = make('button', {type: 'button', class: 'header-button', 'data-role': 'record', hidden: ''});
  const told = make('span', {class: 'out-of-sight', role: 'status'});
  header.querySelector('[data-role=recording]').after(button, told);
  let isOn = false;
  link.on('hello', ({session}) => {
    isOn = session.recording !== null;
    button.hidden = session.source === 'replay';
    write(button, isOn ? 'End the recording' : 'Record');
  });
  button.addEventListener('click', async () => {
    if (button.getAttribute('aria-disabled') === 'true') return;
    if (isOn && !(await isSure(ASKED))) return;
    setAttribute(button, 'aria-disabled', 'true');
    const reply = await link.control({kind: 'record', on: !isOn});
    setAttribute(button, 'aria-disabled', null);
    write(told, reply.words);
    setAttribute(button, 'title', reply.words || null);
    if (!reply.ok) write(button, `✕ ${reply.words}`);
  });
}
