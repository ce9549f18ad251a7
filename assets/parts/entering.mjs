/** Entries for numbers and words in forms, and reading them as a person writes. */

import {make, setAttribute, write} from './page.mjs';

const MOST_LETTERS = 200; // the messages' bound for words

/**
 * A number as a person writes it.
 * @param {string} text
 * @returns {number | null} With a point or a comma, with a true minus sign or a hyphen; null when it is none.
 */
export function readNumber(text) {
  const plain = text.trim().replace('−', '-').replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : null;
}

/**
 * @typedef {{element: HTMLElement, input: HTMLInputElement, unit: HTMLElement, words: string,
 *     isNeeded: boolean, isPositive: boolean}} NumberEntry
 */

/**
 * An entry for a number, with its label before and its unit behind it.
 * @param {string} id
 * @param {string} words The label.
 * @param {{isNeeded?: boolean, isPositive?: boolean}} [must] isPositive: above 0, as an uncertainty is.
 * @returns {NumberEntry}
 */
export function numberEntry(id, words, {isNeeded = false, isPositive = false} = {}) {
  const input = make('input', {
    type: 'text', inputmode: 'decimal', id, autocomplete: 'off', class: 'entry', ...(!isNeeded && {placeholder: 'not known'}),
  });
  const unit = make('span', {class: 'form-unit soft'});
  const element = make('div', {class: 'form-row'}, make('label', {for: id}, words), input, unit);
  return {element, input, unit, words, isNeeded, isPositive};
}

/**
 * An entry for words.
 * @param {string} id
 * @param {string} words The label.
 * @param {string} example What could stand there.
 * @returns {{element: HTMLElement, input: HTMLInputElement}}
 */
export function wordsEntry(id, words, example) {
  const input = make('input', {
    type: 'text', id, autocomplete: 'off', class: 'entry', maxlength: MOST_LETTERS, placeholder: example,
  });
  return {element: make('div', {class: 'form-row form-row-words'}, make('label', {for: id}, words), input), input};
}

/**
 * Read entries; the first that holds no number is told and gets the focus.
 * @param {NumberEntry[]} entries
 * @param {HTMLElement} told
 * @returns {(number | null)[] | null} null for an empty one that need not be filled; null alone when one was refused.
 */
export function readEntries(entries, told) {
  const found = [];
  for (const entry of entries) {
    setAttribute(entry.input, 'aria-invalid', null);
    const wrong = whatIsWrong(entry);
    if (wrong) {
      refuse(told, entry.input, wrong);
      return null;
    }
    found.push(readNumber(entry.input.value));
  }
  return found;
}

function whatIsWrong({input, words, isNeeded, isPositive}) {
  const text = input.value.trim();
  if (text === '') return isNeeded ? `${words}: write a number first` : '';
  const number = readNumber(text);
  if (number === null || !Number.isFinite(number)) return `${words}: “${text}” is no number. Write for example 36.5`;
  return isPositive && number <= 0 ? `${words}: write a number above 0, or nothing when it is not known` : '';
}

/**
 * Say why something was not even asked for.
 * @param {HTMLElement} told
 * @param {HTMLInputElement | null} input Which one is wrong.
 * @param {string} words
 */
export function refuse(told, input, words) {
  setAttribute(told, 'data-refused', '');
  write(told, `✕ ${words}`);
  if (input) {
    input.setAttribute('aria-invalid', 'true');
    input.focus();
  }
}
