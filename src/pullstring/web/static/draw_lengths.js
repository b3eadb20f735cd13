// Lengths as people type them: 4.2, 4,2, 420 cm, 13 ft 9 in, 13' 9". The record reads them again with its own reader.
// Exact by definition: the international foot 0.3048 m, the inch 25.4 mm, the yard 0.9144 m.

const METRES = { m: 1, cm: 0.01, mm: 0.001, ft: 0.3048, "'": 0.3048, in: 0.0254, '"': 0.0254, yd: 0.9144 };
const FEET = /^(\d+)\s*(?:'|ft)\s*(\d+(?:[.,]\d+)?)\s*(?:"|in)$/;
const PLAIN = /^(\d+(?:[.,]\d+)?|[.,]\d+)\s*(m|cm|mm|ft|in|yd|'|")?$/;

/** Metres, or null when it is no length. */
export function metres(text) {
  const bare = text.trim().toLowerCase();
  const feet = FEET.exec(bare);
  if (feet) return (Number(feet[1]) + Number(feet[2].replace(",", ".")) / 12) * 0.3048;
  const plain = PLAIN.exec(bare);
  if (!plain) return null;
  const value = Number(plain[1].replace(",", ".")) * METRES[plain[2] || "m"];
  return value > 0 ? value : null;
}

/** Two lengths with an x between them, or one. */
export function lengths(text) {
  const parts = text.toLowerCase().split("x").map((p) => p.trim()).filter(Boolean);
  const found = parts.map(metres);
  return parts.length <= 2 && found.every((m) => m !== null) ? found : [];
}

export const says = (value) => `${value.toFixed(2)} m`;
export const by = (wide, high) => `${wide.toFixed(2)} x ${high.toFixed(2)} m`;
