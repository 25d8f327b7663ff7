/** Longest side of a picture that is kept, in pixels. */
const LONGEST_SIDE = 1_600;
/** Qualities tried until the picture is small enough. */
const QUALITIES = [0.82, 0.65, 0.45] as const;

/**
 * Draws a picture anew as JPEG of at most 1,600 pixels. What the camera wrote beside the picture (place,
 * time, device) stays behind, and what is no picture does not come through at all.
 *
 * @throws {Error} with words for the person, when it is no picture or cannot be made small enough.
 */
export async function encodePhoto(file: Blob, mostBytes: number): Promise<Blob> {
  const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" }).catch(() => {
    throw new Error("This file is not a picture that the browser can read.");
  });
  const scale = Math.min(1, LONGEST_SIDE / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(bitmap.width * scale));
  canvas.height = Math.max(1, Math.round(bitmap.height * scale));
  const context = canvas.getContext("2d");
  if (!context) throw new Error("This browser cannot draw pictures.");
  context.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  for (const quality of QUALITIES) {
    const blob = await new Promise<Blob | null>((resolve) =>
      canvas.toBlob(resolve, "image/jpeg", quality),
    );
    if (blob && blob.size <= mostBytes) return blob;
  }
  throw new Error("The picture cannot be made small enough. Take another one.");
}
