import "server-only";

type Pieces = AsyncIterable<string> | Iterable<string>;

/**
 * A text file to be saved, written while it is read, so that its length needs no memory. When the
 * reader goes away the source is told to end.
 */
export function downloadText(
  pieces: Pieces,
  {
    fileName,
    contentType = "text/csv",
  }: { readonly fileName: string; readonly contentType?: string },
): Response {
  const source =
    Symbol.asyncIterator in pieces ? pieces[Symbol.asyncIterator]() : pieces[Symbol.iterator]();
  const encoder = new TextEncoder();
  const body = new ReadableStream<Uint8Array>({
    async pull(controller) {
      const { value, done } = await source.next();
      if (done) controller.close();
      else controller.enqueue(encoder.encode(value));
    },
    async cancel() {
      await source.return?.();
    },
  });
  return new Response(body, {
    headers: {
      "content-type": `${contentType}; charset=utf-8`,
      "content-disposition": `attachment; filename*=UTF-8''${encodeURIComponent(fileName)}`,
      "cache-control": "private, no-store",
    },
  });
}
