import { z } from "zod";
import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import type { Problem } from "@/lib/core/shared/outcome";
import { receiveFile } from "@/lib/services/bring-in";
import { TABLE_LIMITS } from "@/lib/services/import/table-limits";
import { tooLarge } from "@/lib/services/import/table-source";
import { ServiceError } from "@/lib/services/service-error";

export const dynamic = "force-dynamic";

const querySchema = z.object({
  name: z.string().min(1).max(1000),
  sheet: z.string().max(200).optional(),
  headingRow: z.coerce.number().int().min(1).max(TABLE_LIMITS.rows).optional(),
});

/**
 * Takes in a file: the body is the file itself, streamed to a temporary file as it comes, so that
 * its size does not matter to the memory. Answers with the batch, or with what is wrong in one sentence.
 */
export async function POST(request: Request): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return refuse(401, "You were signed out: sign in again, then bring the file.");
  const query = querySchema.safeParse(Object.fromEntries(new URL(request.url).searchParams));
  if (!query.success) {
    return refuse(422, "The row of the headings is not a row number.", "headingRow");
  }
  if (Number(request.headers.get("content-length")) > TABLE_LIMITS.fileBytes) {
    return refuse(413, sentence(tooLarge(TABLE_LIMITS.fileBytes)));
  }
  if (!request.body) return refuse(422, "The file is empty.");
  const { name, sheet, headingRow } = query.data;
  try {
    const received = await receiveFile(
      viewer,
      {
        fileName: name,
        chunks: piecesOf(request.body),
        sheetName: sheet || undefined,
        headerRowNumber: headingRow,
      },
      today(),
    );
    if (received.ok) return Response.json(received.value, { status: 201 });
    return Response.json(
      {
        problems: received.problems.map(({ path, message }) => ({
          path,
          message: sentence(message),
        })),
      },
      { status: 422 },
    );
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return refuse(error.httpStatus, error.userMessage);
  }
}

async function* piecesOf(body: ReadableStream<Uint8Array>): AsyncGenerator<Uint8Array> {
  const reader = body.getReader();
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      yield value;
    }
  } finally {
    reader.releaseLock();
  }
}

function refuse(status: number, message: string, path = "file"): Response {
  const problems: readonly Problem[] = [{ path, message }];
  return Response.json({ problems }, { status });
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}${text.endsWith(".") ? "" : "."}`;
}
