// @ts-check
// Unpacks what pack.py packs: LZMA, as its author's specification has it (lzma-specification.txt of the LZMA SDK).
// It makes the module a sixth smaller than what browsers unpack by themselves.

/** @typedef {ReturnType<typeof rangeDecoder>} Decoder */

/** The bits, each with the chances of its place. @param {Uint8Array} packed @param {number} at where they begin */
function rangeDecoder(packed, at) {
  // In an array: a variable that doesn't fit into 31 bits would be allocated anew with each bit.
  const now = new Uint32Array([0xffffffff, new DataView(packed.buffer, packed.byteOffset).getUint32(at + 1)]);
  at += 5;

  function fill() {
    if (now[0] < 0x1000000) {
      now[0] <<= 8;
      now[1] = (now[1] << 8) | packed[at++];
    }
  }

  /** @param {Uint16Array} chances @param {number} i */
  function bit(chances, i) {
    const chance = chances[i], bound = (now[0] >>> 11) * chance;
    if (now[1] < bound) {
      now[0] = bound;
      chances[i] = chance + ((2048 - chance) >>> 5);
      fill();
      return 0;
    }
    now[0] -= bound;
    now[1] -= bound;
    chances[i] = chance - (chance >>> 5);
    fill();
    return 1;
  }

  /** The highest first. @param {Uint16Array} chances @param {number} base @param {number} n */
  function tree(chances, base, n) {
    let m = 1;
    for (let i = 0; i < n; i++)
      m = (m << 1) | bit(chances, base + m);
    return m - (1 << n);
  }

  /** The lowest first. @param {Uint16Array} chances @param {number} base @param {number} n */
  function reverse(chances, base, n) {
    let m = 1, value = 0;
    for (let i = 0; i < n; i++) {
      const is = bit(chances, base + m);
      m = (m << 1) | is;
      value |= is << i;
    }
    return value;
  }

  /** Of even chances. @param {number} n */
  function even(n) {
    let value = 0;
    for (let i = 0; i < n; i++) {
      now[0] >>>= 1;
      const is = now[1] >= now[0] ? 1 : 0;
      if (is !== 0)
        now[1] -= now[0];
      value = (value << 1) | is;
      fill();
    }
    return value;
  }

  return { bit, tree, reverse, even };
}

/** @param {number} n */
const chances = (n) => new Uint16Array(n).fill(1024);

/** How long a match is, by the place's lowest bits. @param {Decoder} coded */
function lengthDecoder(coded) {
  const choice = chances(2), low = chances(16 << 3), middle = chances(16 << 3), high = chances(256);
  /** @param {number} place */
  return (place) => {
    if (coded.bit(choice, 0) === 0)
      return 2 + coded.tree(low, place << 3, 3);
    if (coded.bit(choice, 1) === 0)
      return 10 + coded.tree(middle, place << 3, 3);
    return 18 + coded.tree(high, 0, 8);
  };
}

/** How far back a match lies, by its length. @param {Decoder} coded */
function distanceDecoder(coded) {
  const slots = chances(4 << 6), special = chances(128), aligned = chances(16);
  /** @param {number} length */
  return (length) => {
    const slot = coded.tree(slots, Math.min(length - 2, 3) << 6, 6);
    if (slot < 4)
      return slot;
    const n = (slot >> 1) - 1, high = (2 | (slot & 1)) << n;
    if (slot < 14)
      return high + coded.reverse(special, high - slot, n);
    return high + (coded.even(n - 4) << 4) + coded.reverse(aligned, 0, 4);
  };
}

/** A byte, by the one before it and, behind a match, by the one that would have followed. @param {Decoder} coded
 *  @param {Uint16Array} literals @param {number} base @param {number} match -1: not behind one */
function literal(coded, literals, base, match) {
  let m = 1;
  while (match >= 0 && m < 256) {
    match <<= 1;
    const of = match & 256, is = coded.bit(literals, base + 256 + of + m);
    m = (m << 1) | is;
    if (of !== is << 8)
      break;
  }
  while (m < 256)
    m = (m << 1) | coded.bit(literals, base + m);
  return m & 255;
}

/** @param {Uint8Array} packed a .lzma file that states its size */
function unpacked(packed) {
  const [told] = packed, size = new DataView(packed.buffer, packed.byteOffset).getUint32(5, true);
  const lc = told % 9, lp = Math.floor(told / 9) % 5, pb = Math.floor(told / 45);
  const out = new Uint8Array(size), coded = rangeDecoder(packed, 13);
  const literals = chances(0x300 << (lc + lp)), length = lengthDecoder(coded), again = lengthDecoder(coded);
  const distance = distanceDecoder(coded), isMatch = chances(12 << 4), isLong = chances(12 << 4);
  const isAgain = chances(12), isFirst = chances(12), isSecond = chances(12), isThird = chances(12);
  let at = 0, state = 0, back = [0, 0, 0, 0];

  /** One of the last four distances comes first. */
  function recall() {
    const i = coded.bit(isSecond, state) === 0 ? 1 : 2 + coded.bit(isThird, state);
    back.unshift(...back.splice(i, 1));
  }

  /** How many bytes are as those before them; `back` says how far before. @param {number} place */
  function match(place) {
    if (coded.bit(isAgain, state) === 0) {
      const n = length(place);
      back = [distance(n), ...back.slice(0, 3)];
      state = state < 7 ? 7 : 10;
      return n;
    }
    if (coded.bit(isFirst, state) !== 0) {
      recall();
    } else if (coded.bit(isLong, (state << 4) + place) === 0) {
      state = state < 7 ? 9 : 11;
      return 1;
    }
    state = state < 7 ? 8 : 11;
    return again(place);
  }

  while (at < size) {
    const place = at & ((1 << pb) - 1), before = at === 0 ? 0 : out[at - 1];
    if (coded.bit(isMatch, (state << 4) + place) !== 0) {
      for (let n = match(place), from = at - back[0] - 1; n > 0 && at < size; n--)
        out[at++] = out[from++];
      continue;
    }
    const base = 0x300 * (((at & ((1 << lp) - 1)) << lc) + (before >> (8 - lc)));
    out[at] = literal(coded, literals, base, state < 7 ? -1 : out[at - back[0] - 1]);
    at++;
    state = state < 4 ? 0 : state < 10 ? state - 3 : state - 6;
  }
  return out;
}
