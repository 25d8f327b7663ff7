"use client";

import { useEffect, useId, useState } from "react";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import type { PasswordLink } from "@/lib/services/settings-people";

/** The link to hand on; it is not shown again. */
export function LinkNote({ link }: { readonly link: PasswordLink }) {
  const id = useId();
  const [origin, setOrigin] = useState("");
  const [isCopied, setIsCopied] = useState(false);
  useEffect(() => setOrigin(window.location.origin), []);
  const address = `${origin}/invitation/${link.token}`;
  return (
    <div className="notice notice--good section" role="status">
      <p>
        Hand this link to {link.name} ({link.email}). They choose their password with it, once,
        within seven days. It is not shown again; a new one can be made at any time.
      </p>
      <label className="visually-hidden" htmlFor={id}>
        Link for {link.name}
      </label>
      <input
        id={id}
        className={styles.link}
        readOnly
        value={address}
        onFocus={(event) => event.currentTarget.select()}
      />
      <div className="actions">
        <button
          className="button"
          type="button"
          onClick={() => {
            void navigator.clipboard?.writeText(address).then(() => setIsCopied(true));
          }}
        >
          {isCopied ? "Copied" : "Copy the link"}
        </button>
      </div>
    </div>
  );
}
