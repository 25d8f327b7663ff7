import type { Metadata } from "next";
import Link from "next/link";

export const metadata: Metadata = { title: "Not found" };

export default function NotFoundPage() {
  return (
    <main className="sheet">
      <h1>There is nothing at this address</h1>
      <p>
        It may have been removed, or it belongs to another organization. <Link href="/">Today</Link>{" "}
        shows what needs you.
      </p>
    </main>
  );
}
