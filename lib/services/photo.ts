import "server-only";
import jpeg from "jpeg-js";
import { stripJpeg } from "@/lib/core/shared/jpeg";

/** More than the phone's own pictures have; a small file may claim to be a picture of any size. */
const MOST_SIDE_PIXELS = 2_048;
const QUALITY = 80;

/**
 * A picture as it is kept: decoded to its points and encoded anew, so that nothing of the file that was
 * sent is stored or served, whatever else it held.
 * @returns null for anything that is no whole JPEG by its content, or larger than 2,048 pixels a side.
 */
export function redrawPhoto(sent: Uint8Array): Uint8Array | null {
  const bare = stripJpeg(sent);
  if (!bare || Math.max(bare.widthPixels, bare.heightPixels) > MOST_SIDE_PIXELS) return null;
  try {
    const picture = jpeg.decode(bare.bytes, {
      useTArray: true,
      tolerantDecoding: false,
      maxResolutionInMP: (MOST_SIDE_PIXELS * MOST_SIDE_PIXELS) / 1e6,
      maxMemoryUsageInMB: 256,
    });
    return stripJpeg(jpeg.encode(picture, QUALITY).data)?.bytes ?? null;
  } catch {
    return null;
  }
}
