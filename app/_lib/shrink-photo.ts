/** Longest side of a picture that is kept, in pixels. */
const LONGEST_SIDE_PIXELS = 1_600;
/** Qualities tried until the picture is small enough. */
const QUALITIES = [0.82, 0.65, 0.45] as const;

/** Small enough to be sent over a weak signal. */
const MOST_BYTES = 2 * 1024 * 1024;

/**
 * A photo drawn anew as a JPEG of at most 1,600 pixels a side. What the camera wrote beside the picture
 * (place, time, device) stays behind, and what is no picture does not come through at all.
 *
 * @throws {Error} with words for the person, when it is no picture or cannot be made small enough.
 */
export async function shrinkPhoto(file: Blob, mostBytes: number = MOST_BYTES): Promise<Blob> {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" }).catch(() => {
    throw new Error("This file is not a picture that the browser can read.");
  });
  const scale = Math.min(1, LONGEST_SIDE_PIXELS / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const pen = canvas.getContext("2d");
  if (!pen) throw new Error("This browser cannot draw pictures.");
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  for (const quality of QUALITIES) {
    const blob = await new Promise<Blob | null>((resolve) =>
      canvas.toBlob(resolve, "image/jpeg", quality),
    );
    if (blob && blob.size <= mostBytes) return blob;
  }
  throw new Error("The picture cannot be made small enough. Take another one.");
}
