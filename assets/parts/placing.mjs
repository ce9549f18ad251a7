/** Where the cards stand on the wall. Pure. */

const MOST_ROWS = 12; // a room with more rows or places is drawn closed up
const GOOD_SHAPE = 1.35; // width to height of a card on which the number comes out largest

/**
 * Cards stand where the benches stand; benches without a place of their own fill what is free.
 * @param {{number: number, row: number | null, place: number | null}[]} benches
 * @param {number} shape Width to height of the wall.
 * @returns {{columns: number, rows: number, at: Map<number, {row: number, column: number}>}} From 1.
 */
export function placeCards(benches, shape) {
  const at = new Map();
  const taken = new Set();
  const placed = closedUp(benches.filter(({row, place}) => row > 0 && place > 0));
  for (const {number, row, place} of placed) {
    const key = `${row} ${place}`;
    if (taken.has(key)) continue; // two benches at one place: the second fills a free one
    taken.add(key);
    at.set(number, {row, column: place});
  }
  const free = benches.filter(({number}) => !at.has(number));
  let {columns, rows} = at.size === 0 ? plainGrid(free.length, shape) : extent(at);
  while (columns * rows < taken.size + free.length) {
    if (shape * rows > columns * GOOD_SHAPE) columns += 1;
    else rows += 1;
  }
  const cells = freeCells(columns, rows, taken);
  for (const {number} of free) at.set(number, cells.next().value);
  return {columns, rows, at};
}

/**
 * The grid on which the cards come out largest.
 * @param {number} n
 * @param {number} shape Width to height of the wall.
 * @returns {{columns: number, rows: number}}
 */
export function plainGrid(n, shape) {
  let best = {columns: 1, rows: Math.max(1, n), size: 0};
  for (let columns = 1; columns <= Math.max(1, n); columns++) {
    const rows = Math.ceil(n / columns);
    const size = Math.min(shape / columns / GOOD_SHAPE, 1 / rows); // the height that a well-shaped card would have
    if (size > best.size * 1.0001) best = {columns, rows, size};
  }
  return {columns: best.columns, rows: best.rows};
}

function* freeCells(columns, rows, taken) {
  for (let row = 1; row <= rows; row++) {
    for (let column = 1; column <= columns; column++) {
      if (!taken.has(`${row} ${column}`)) yield {row, column};
    }
  }
}

function extent(at) {
  let [rows, columns] = [1, 1];
  for (const cell of at.values()) {
    rows = Math.max(rows, cell.row);
    columns = Math.max(columns, cell.column);
  }
  return {rows, columns};
}

/** Numbers that are too great for a screen are replaced by their rank: aisles go, the order stays. */
function closedUp(benches) {
  const rank = (key) => {
    const seen = [...new Set(benches.map((bench) => bench[key]))].sort((a, b) => a - b);
    return seen.at(-1) > MOST_ROWS ? new Map(seen.map((value, i) => [value, i + 1])) : null;
  };
  const [rows, places] = [rank('row'), rank('place')];
  return benches.map(({number, row, place}) =>
    ({number, row: rows?.get(row) ?? row, place: places?.get(place) ?? place}));
}
