import { sampleCsv } from "@/lib/core/exchange/sample-file";

/** An invented list to try the way in with. */
export function GET(): Response {
  return new Response([...sampleCsv()].join(""), {
    headers: {
      "content-type": "text/csv; charset=utf-8",
      "content-disposition": 'attachment; filename="heaters-sample.csv"',
    },
  });
}
