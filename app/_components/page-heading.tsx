import type { ReactNode } from "react";

/** The title of a screen, the question it answers and what can be done there. */
export function PageHeading({
  title,
  question,
  children,
}: {
  readonly title: string;
  readonly question?: ReactNode;
  readonly children?: ReactNode;
}) {
  return (
    <div className="page-heading">
      <div>
        <h1>{title}</h1>
        {question && <p className="page-heading__question">{question}</p>}
      </div>
      {children && <div className="actions">{children}</div>}
    </div>
  );
}
