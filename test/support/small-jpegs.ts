/** A gradient of 16 × 8 pixels in a baseline and in a progressive JPEG, made for the tests. */
export const BASELINE_JPEG: Uint8Array<ArrayBuffer> = fromBase64(
  "/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDABQODxIPDRQSEBIXFRQYHjIhHhwcHj0sLiQySUBMS0dARkVQWnNiUFVtVkVGZIhlbXd7gYKBTmCNl4x9lnN+gXz/2wBDARUXFx4aHjshITt8U0ZTfHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHz/wAARCAAIABADASIAAhEBAxEB/8QAFQABAQAAAAAAAAAAAAAAAAAAAAX/xAAWEAEBAQAAAAAAAAAAAAAAAAAAFGH/xAAVAQEBAAAAAAAAAAAAAAAAAAAEBf/EABcRAAMBAAAAAAAAAAAAAAAAAAADFFH/2gAMAwEAAhEDEQA/AINGlGgvQIwRa7T/2Q==",
);
export const PROGRESSIVE_JPEG: Uint8Array<ArrayBuffer> = fromBase64(
  "/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDABQODxIPDRQSEBIXFRQYHjIhHhwcHj0sLiQySUBMS0dARkVQWnNiUFVtVkVGZIhlbXd7gYKBTmCNl4x9lnN+gXz/2wBDARUXFx4aHjshITt8U0ZTfHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHz/wgARCAAIABADASIAAhEBAxEB/8QAFQABAQAAAAAAAAAAAAAAAAAAAAT/xAAVAQEBAAAAAAAAAAAAAAAAAAADBP/aAAwDAQACEAMQAAABgF6f/8QAFRABAQAAAAAAAAAAAAAAAAAAABL/2gAIAQEAAQUCpT//xAAWEQADAAAAAAAAAAAAAAAAAAAAAhP/2gAIAQMBAT8Bs5//xAAWEQADAAAAAAAAAAAAAAAAAAAAAhP/2gAIAQIBAT8Bgh//xAAUEAEAAAAAAAAAAAAAAAAAAAAQ/9oACAEBAAY/Aj//xAAUEAEAAAAAAAAAAAAAAAAAAAAQ/9oACAEBAAE/IQ//2gAMAwEAAgADAAAAEAP/xAAVEQEBAAAAAAAAAAAAAAAAAAAAYf/aAAgBAwEBPxCz/8QAFREBAQAAAAAAAAAAAAAAAAAAAGH/2gAIAQIBAT8Qm//EABUQAQEAAAAAAAAAAAAAAAAAAABx/9oACAEBAAE/EKU//9k=",
);

function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  return new Uint8Array(Buffer.from(text, "base64"));
}

/** The same picture with one more segment right behind its start. */
export function withSegment(
  jpeg: Uint8Array,
  marker: number,
  text: string,
): Uint8Array<ArrayBuffer> {
  const body = Buffer.from(text, "latin1");
  const length = body.length + 2;
  return new Uint8Array(
    Buffer.concat([
      jpeg.subarray(0, 2),
      Buffer.from([0xff, marker, length >> 8, length & 0xff]),
      body,
      jpeg.subarray(2),
    ]),
  );
}
