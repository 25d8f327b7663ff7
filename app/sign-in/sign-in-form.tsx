"use client";

import { useActionState } from "react";
import { TextField } from "@/app/_components/field";
import { signIn } from "./actions";

export function SignInForm() {
  const [state, action, isPending] = useActionState(signIn, { email: "", problems: [] });
  return (
    <form action={action} className="section" noValidate>
      <TextField
        name="email"
        label="Email"
        type="email"
        autoComplete="username"
        defaultValue={state.email}
        problems={state.problems}
      />
      <TextField
        name="password"
        label="Password"
        type="password"
        autoComplete="current-password"
        problems={state.problems}
      />
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending ? "Signing in …" : "Sign in"}
        </button>
      </div>
    </form>
  );
}
