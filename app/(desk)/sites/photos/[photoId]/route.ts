import { maybeViewer } from "@/app/_lib/viewer";
import { readSurveyPhoto } from "@/lib/services/survey-photos";

/**
 * A survey picture. It is always declared as JPEG and never guessed at, so that whatever a picture holds
 * a browser shows it as a picture or not at all.
 */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly photoId: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  const bytes = await readSurveyPhoto(viewer, (await params).photoId);
  if (!bytes) return new Response("There is no such picture.", { status: 404 });
  return new Response(new Uint8Array(bytes), {
    headers: {
      "content-type": "image/jpeg",
      "x-content-type-options": "nosniff",
      "content-security-policy": "default-src 'none'; sandbox",
      "content-disposition": 'inline; filename="survey.jpg"',
      "cross-origin-resource-policy": "same-origin",
      "cache-control": "private, max-age=86400, immutable",
    },
  });
}
