import { revalidatePath } from "next/cache";
import { maybeViewer } from "@/app/_lib/viewer";
import { mayDo } from "@/lib/services/permissions";
import { MOST_SURVEY_PHOTO_BYTES } from "@/lib/services/survey-form";
import { addSurveyPhoto } from "@/lib/services/survey-photos";

/** Takes one picture of a heater's place: the bytes are the body, the rest is in the address. */
export async function POST(
  request: Request,
  { params }: { readonly params: Promise<{ readonly heaterId: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return answer(401, "Sign in first.");
  if (!mayDo(viewer.role, "heater.edit")) {
    return answer(403, "Your role does not include this. Ask an owner.");
  }
  // A form of another site cannot send this type without asking first.
  if (request.headers.get("content-type") !== "image/jpeg") {
    return answer(415, "Only pictures as the survey takes them.");
  }
  const bytes = await readUpTo(request, MOST_SURVEY_PHOTO_BYTES);
  if (!bytes) return answer(413, "The picture is larger than 2 MB.");
  const search = new URL(request.url).searchParams;
  const outcome = await addSurveyPhoto(
    viewer,
    {
      id: search.get("id"),
      heaterId: (await params).heaterId,
      item: search.get("item"),
      takenOn: search.get("takenOn"),
    },
    bytes,
  );
  revalidatePath("/sites", "layout");
  return outcome.ok
    ? answer(201, "")
    : answer(422, outcome.problems.map(({ message }) => message).join(" "));
}

const answer = (status: number, message: string) => Response.json({ message }, { status });

/** The body, or null as soon as it is longer than allowed: nothing more is read then. */
async function readUpTo(request: Request, most: number): Promise<Uint8Array | null> {
  if (Number(request.headers.get("content-length") ?? 0) > most) return null;
  const chunks: Uint8Array[] = [];
  let length = 0;
  const reader = request.body?.getReader();
  while (reader) {
    const { done, value } = await reader.read();
    if (done) break;
    length += value.byteLength;
    if (length > most) {
      await reader.cancel();
      return null;
    }
    chunks.push(value);
  }
  return Buffer.concat(chunks);
}
