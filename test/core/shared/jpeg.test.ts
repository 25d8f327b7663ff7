import { describe, expect, test } from "vitest";
import { stripJpeg } from "@/lib/core/shared/jpeg";
import { BASELINE_JPEG, PROGRESSIVE_JPEG, withSegment } from "@/test/support/small-jpegs";

const text = (bytes: Uint8Array | undefined) => Buffer.from(bytes ?? []).toString("latin1");

describe.each([
  ["baseline", BASELINE_JPEG],
  ["progressive", PROGRESSIVE_JPEG],
])("a %s JPEG", (_, jpeg) => {
  const bare = stripJpeg(jpeg);

  test("keeps its size and loses its application segment and nothing else", () => {
    expect(bare).toMatchObject({ widthPixels: 16, heightPixels: 8 });
    // APP0 of the file interchange format: marker 2 + length 16.
    expect(bare?.bytes.length).toBe(jpeg.length - 18);
    expect(text(bare?.bytes)).not.toContain("JFIF");
    expect(text(bare?.bytes.subarray(2))).toBe(text(jpeg.subarray(20)));
  });

  test("stays as it is when it is bare already", () => {
    expect(text(stripJpeg(bare?.bytes ?? new Uint8Array())?.bytes)).toBe(text(bare?.bytes));
  });

  // ITU-T T.81 table B.1: E1 is where cameras write place and time, FE a comment.
  test.each([
    ["place and time of the camera", 0xe1, "Exif\0\0GPS 47.1 N"],
    ["a note of an editor", 0xed, "Photoshop 3.0"],
    ["a comment", 0xfe, "<script>alert(1)</script>"],
    ["a colour segment of another length", 0xee, "Adobe and more than it should say"],
  ])("loses %s", (_name, marker, words) => {
    const stripped = stripJpeg(withSegment(jpeg, marker, words));
    expect(text(stripped?.bytes)).toBe(text(bare?.bytes));
  });

  test("keeps the colour transform, without which it would show in wrong colours", () => {
    const stripped = stripJpeg(withSegment(jpeg, 0xee, "Adobe\0d\0\0\0\0\x01"));
    expect(stripped?.bytes.length).toBe((bare?.bytes.length ?? 0) + 16);
  });

  test("loses what stands behind its end", () => {
    const longer = new Uint8Array([...jpeg, ...Buffer.from("<html>PK\x03\x04")]);
    expect(text(stripJpeg(longer)?.bytes)).toBe(text(bare?.bytes));
  });

  test("is refused when it is cut off anywhere", () => {
    for (let length = 0; length < jpeg.length; length += 1) {
      expect(stripJpeg(jpeg.subarray(0, length)), `${length} bytes`).toBeNull();
    }
  });
});

test("what only begins as a JPEG is none", () => {
  const starts = [0xff, 0xd8, 0xff];
  for (const rest of [[0xe0, 1, 2, 3, 4], [...Buffer.from("<html></html>")], [0xd9], []]) {
    expect(stripJpeg(Uint8Array.from([...starts, ...rest]))).toBeNull();
  }
});
