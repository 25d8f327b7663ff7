import "@fontsource-variable/besley/wght.css";
import "@fontsource-variable/libre-franklin/wght.css";
import "./_styles/tokens.css";
import "./_styles/base.css";
import "./_styles/desk.css";
import type { Metadata, Viewport } from "next";
import { cookies } from "next/headers";
import type { ReactNode } from "react";

export const metadata: Metadata = {
  title: { default: "Tanklore", template: "%s · Tanklore" },
  description: "Water heaters of many apartments: inventory, risk, replacement, upkeep, emissions.",
};

export const viewport: Viewport = { width: "device-width", initialScale: 1 };

export default async function RootLayout({ children }: { readonly children: ReactNode }) {
  const theme = (await cookies()).get("tanklore-theme")?.value;
  return (
    <html lang="en" data-theme={theme === "dark" || theme === "light" ? theme : undefined}>
      <body>{children}</body>
    </html>
  );
}
