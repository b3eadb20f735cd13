// SHA-256 after FIPS 180-4, sections 4.1.2, 4.2.2, 5.1.1 and 6.2. The browser's own is not there over plain http.

const K = new Uint32Array([
  0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
  0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
  0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
  0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
  0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
  0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
  0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
  0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
]);
const START = [0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19];
const BLOCK = 64; // bytes

const turned = (x, by) => (x >>> by) | (x << (32 - by));

function compress(state, view, offset, w) {
  for (let t = 0; t < 16; t += 1) w[t] = view.getUint32(offset + 4 * t);
  for (let t = 16; t < 64; t += 1) {
    const s0 = turned(w[t - 15], 7) ^ turned(w[t - 15], 18) ^ (w[t - 15] >>> 3);
    const s1 = turned(w[t - 2], 17) ^ turned(w[t - 2], 19) ^ (w[t - 2] >>> 10);
    w[t] = w[t - 16] + s0 + w[t - 7] + s1;
  }
  let [a, b, c, d, e, f, g, h] = state;
  for (let t = 0; t < 64; t += 1) {
    const choice = (e & f) ^ (~e & g);
    const t1 = (h + (turned(e, 6) ^ turned(e, 11) ^ turned(e, 25)) + choice + K[t] + w[t]) | 0;
    const majority = (a & b) ^ (a & c) ^ (b & c);
    const t2 = ((turned(a, 2) ^ turned(a, 13) ^ turned(a, 22)) + majority) | 0;
    [h, g, f, e, d, c, b, a] = [g, f, e, (d + t1) | 0, c, b, a, (t1 + t2) | 0];
  }
  [a, b, c, d, e, f, g, h].forEach((x, i) => {
    state[i] = (state[i] + x) | 0;
  });
}

/** The hash of bytes (Uint8Array), as 64 letters of 0-9 and a-f. */
export function sha256(bytes) {
  const whole = bytes.length - (bytes.length % BLOCK);
  const rest = bytes.subarray(whole);
  const tail = new Uint8Array(rest.length < BLOCK - 8 ? BLOCK : 2 * BLOCK);
  tail.set(rest);
  tail[rest.length] = 0x80;
  const tailView = new DataView(tail.buffer);
  tailView.setUint32(tail.length - 8, Math.floor(bytes.length / 2 ** 29)); // the length in single digits, 64 of them
  tailView.setUint32(tail.length - 4, (bytes.length * 8) >>> 0);
  const state = [...START];
  const w = new Int32Array(64);
  const view = new DataView(bytes.buffer, bytes.byteOffset, whole);
  for (let offset = 0; offset < whole; offset += BLOCK) compress(state, view, offset, w);
  for (let offset = 0; offset < tail.length; offset += BLOCK) compress(state, tailView, offset, w);
  return state.map((x) => (x >>> 0).toString(16).padStart(8, "0")).join("");
}

/** The hash of a text, by its UTF-8 bytes. */
export const sha256OfText = (text) => sha256(new TextEncoder().encode(text));
