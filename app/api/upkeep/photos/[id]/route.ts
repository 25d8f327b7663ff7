import { isOwnRequest } from "@/app/_lib/own-request";
import { readAtMost } from "@/app/_lib/read-at-most";
import { maybeViewer } from "@/app/_lib/viewer";
import { MOST_PHOTO_BYTES } from "@/lib/core/upkeep/round-entry";
import { readPhoto, receivePhoto } from "@/lib/services/round-entries";
import { ServiceError } from "@/lib/services/service-error";

type Context = { readonly params: Promise<{ readonly id: string }> };

/** A photo of a visit, as the picture that its content is and as nothing else. */
export async function GET(_request: Request, { params }: Context): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  try {
    const { contentType, bytes } = await readPhoto(viewer, (await params).id);
    return new Response(Uint8Array.from(bytes), {
      headers: {
        "content-type": contentType,
        "x-content-type-options": "nosniff",
        "content-security-policy": "default-src 'none'; sandbox",
        "content-disposition": "inline",
        "cache-control": "private, max-age=86400, immutable",
      },
    });
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return new Response(error.userMessage, { status: error.httpStatus });
  }
}

/** A photo from a phone; the address names the photo, the query the visit. */
export async function PUT(request: Request, { params }: Context): Promise<Response> {
  if (!isOwnRequest(request)) return Response.json({ error: "not from here" }, { status: 403 });
  const viewer = await maybeViewer();
  if (!viewer) return Response.json({ error: "signed out" }, { status: 401 });
  if (request.headers.get("x-entry-owner") !== `${viewer.organizationId} ${viewer.userId}`) {
    return Response.json({ error: "another person is signed in" }, { status: 401 });
  }
  const bytes = await readAtMost(request, MOST_PHOTO_BYTES);
  if (bytes === null) {
    return Response.json({ status: "refused", message: "The photo is larger than 4 MB." });
  }
  const search = new URL(request.url).searchParams;
  const target = {
    photoId: (await params).id,
    entryKey: search.get("entry"),
    heaterId: search.get("heater"),
  };
  try {
    return Response.json(await receivePhoto(viewer, target, bytes));
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return Response.json({ error: error.userMessage }, { status: error.httpStatus });
  }
}
