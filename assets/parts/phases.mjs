/** Starting a phase of the lesson, from the header of any page; not there in a lesson of one piece. */

import {make, setAttribute, write} from './page.mjs';

const NONE = 'none yet';

/**
 * Put the choice into the header, behind the recording's control.
 * @param {HTMLElement} header
 * @param {import('./link.mjs').Link} link
 */
export function fitPhaseControl(header, link) {
  const choice = make('select', {id: 'phase', class: 'entry', 'data-role': 'phase'});
  const told = make('span', {class: 'out-of-sight', role: 'status'});
  const box = make('span', {class: 'header-phase', hidden: ''}, make('label', {for: 'phase'}, 'Phase'), choice, told);
  header.querySelector('[data-role=recording]').after(box);
  let now = '';
  const show = () => (choice.value = now);
  const describe = ({lesson}) => {
    const phases = lesson.phases ?? [];
    box.hidden = !phases.length;
    const option = ({name, note}) => make('option', {value: name, ...(note && {title: note})}, name);
    choice.replaceChildren(make('option', {value: ''}, NONE), ...phases.map(option));
    show();
  };
  const start = ({phases}) => {
    now = phases.at(-1)?.phase ?? '';
    show();
  };
  link.on('hello', (hello) => {
    describe(hello);
    start(hello);
  });
  link.on('lesson', describe);
  link.on('phases', start);
  choice.addEventListener('change', async () => {
    const reply = await link.control({kind: 'phase', phase: choice.value});
    write(told, reply.words);
    setAttribute(choice, 'title', reply.words || null);
    if (!reply.ok) show(); // it goes on as it was
  });
}
