import { templateCsv } from "@/lib/core/exchange/sample-file";

/** Headings to be filled in. */
export function GET(): Response {
  return new Response([...templateCsv()].join(""), {
    headers: {
      "content-type": "text/csv; charset=utf-8",
      "content-disposition": 'attachment; filename="heaters-template.csv"',
    },
  });
}
