import Link from "next/link";

/** A property or building that is not there. */
export default function NotFound() {
  return (
    <div className="empty">
      <h2>Not here</h2>
      <p>There is no such place in this organization. It may have another address now.</p>
      <Link className="button" href="/settings/properties">
        All properties
      </Link>
    </div>
  );
}
