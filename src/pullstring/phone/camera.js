// A photograph as it is kept: drawn down, which also drops the position and all else that a camera writes into the file.

import { sha256 } from "./sha256.js";

const LONGEST = 2048; // ours: dots along the longer side; enough to read a label at arm's length
const QUALITY = 0.85;

async function drawn(file) {
  const picture = await createImageBitmap(file);
  try {
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    const pen = canvas.getContext("2d");
    pen.imageSmoothingQuality = "high";
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  } finally {
    picture.close();
  }
}

/** The photograph of a file that the camera made; where it cannot be drawn the file stays as it is (`asTaken`). */
export async function photographOf(file) {
  const made = await drawn(file).catch(() => null);
  const blob = made?.type === "image/jpeg" ? made : file;
  const bytes = new Uint8Array(await blob.arrayBuffer());
  // The bytes are copied: a file of the camera may vanish from under its name.
  return { blob: new Blob([bytes], { type: blob.type }), type: blob.type, sha256: sha256(bytes), asTaken: blob === file };
}
