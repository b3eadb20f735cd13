// The photographs of a form: taken with the phone's own camera, kept with the draft until they are kept as entries.

import { photographOf } from "./camera.js";
import { draftPhotos, keepDraftPhotos } from "./drafts.js";
import { button, part } from "./parts.js";
import { AS_TAKEN, NOT_HELD, NO_PICTURE, kilobytes } from "./words.js";

/** The photograph part of a form: its element, what was taken, and a way to open the camera. */
export function photoPart(act, say) {
  let photos = [];
  const taken = part("ul", { className: "taken" });
  const file = part("input", { type: "file", accept: "image/*", hidden: true, onchange: take, "aria-label": "Photograph" });
  file.setAttribute("capture", "environment");
  const open = () => file.click();
  const shutter = button("Photograph", open, { className: "shutter" });
  let busy = draftPhotos(act).catch(() => []).then((kept) => {
    photos = kept;
    show();
  });

  function take() {
    const files = [...file.files];
    file.value = ""; // the same file may be taken again
    busy = busy.then(async () => {
      for (const one of files) await add(one);
    });
  }

  async function add(one) {
    try {
      const photo = await photographOf(one);
      photos.push(photo);
      if (photo.asTaken) say(AS_TAKEN);
      if (!(await keepDraftPhotos(act, photos))) say(NOT_HELD);
    } catch {
      say(NO_PICTURE);
    }
    show();
  }

  function show() {
    shutter.textContent = photos.length ? "Another photograph" : "Photograph";
    taken.replaceChildren(
      ...photos.map((photo, i) =>
        part(
          "li",
          {},
          part("span", {}, `Photograph ${i + 1}, ${kilobytes(photo.blob.size)}`),
          button("Leave out", () => leaveOut(photo), { "aria-label": `Leave out photograph ${i + 1}` }),
        ),
      ),
    );
  }

  function leaveOut(photo) {
    photos = photos.filter((one) => one !== photo);
    show();
    keepDraftPhotos(act, photos);
  }

  /** All photographs, those being drawn down included. */
  const all = async () => {
    await busy;
    return photos;
  };
  const element = part("div", { className: "field" }, taken, shutter, file);
  return { element, open, all };
}
