// A picture made small on the phone: upright, 1600 pixels at most, as JPEG of some 350 kB at most.
const EDGE = 1600;
const AIM = 350000;
const QUALITIES = [0.85, 0.75, 0.65, 0.5];

// Of a file that was chosen; null where this browser cannot read it, so that the server says what to do.
export async function shrinkFile(file) {
  const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" }).catch(() => null);
  if (!bitmap) return null;
  try {
    return await shrink(bitmap, bitmap.width, bitmap.height);
  } finally {
    bitmap.close();
  }
}

// Of a picture or of the frame that a video shows.
export async function shrink(source, width, height) {
  const scale = Math.min(1, EDGE / Math.max(width, height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const pen = canvas.getContext("2d");
  pen.fillStyle = "white";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.imageSmoothingQuality = "high";
  pen.drawImage(source, 0, 0, canvas.width, canvas.height);
  let blob = null;
  for (const quality of QUALITIES) {
    blob = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", quality); });
    if (blob && blob.size <= AIM) break;
  }
  canvas.width = canvas.height = 0; // gives the memory back at once, which phones have little of
  return blob;
}
