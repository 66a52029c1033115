// A photo from the device's camera, made small enough to be kept.

/** Its longer side at most, pixels: a thread can be read on it. */
const LONGEST = 1600;
const QUALITY = 0.8;

/** Has a photo taken, and hands it over with what it is of. */
export function take(about, give) {
  const input = document.createElement("input");
  input.type = "file";
  input.id = "photo-file";
  input.accept = "image/jpeg,image/png,image/webp";
  input.setAttribute("capture", "environment");
  input.hidden = true;
  document.getElementById("photo-file")?.remove();
  input.addEventListener("change", async () => {
    const [file] = input.files;
    input.remove();
    if (file) give(about, await smaller(file));
  });
  document.body.append(input);
  input.click();
}

/** The photo as a JPEG of at most that size; what cannot be drawn goes as it is, and the daemon says what it thinks. */
async function smaller(file) {
  try {
    const picture = await createImageBitmap(file);
    const share = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * share);
    canvas.height = Math.round(picture.height * share);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    return (await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY))) ?? file;
  } catch {
    return file;
  }
}
