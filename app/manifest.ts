import type { MetadataRoute } from "next";

/** What a phone needs to put the program on its home screen; it opens on the rounds. */
export default function manifest(): MetadataRoute.Manifest {
  return {
    id: "/upkeep/rounds",
    name: "Tanklore rounds",
    short_name: "Tanklore",
    description: "Water heater rounds, recorded with or without a signal.",
    start_url: "/upkeep/rounds",
    scope: "/",
    display: "standalone",
    orientation: "portrait",
    background_color: "#f7f3ea",
    theme_color: "#f7f3ea",
    icons: [
      { src: "/icons/tank-192.png", sizes: "192x192", type: "image/png", purpose: "any" },
      { src: "/icons/tank-512.png", sizes: "512x512", type: "image/png", purpose: "any" },
      {
        src: "/icons/tank-maskable-512.png",
        sizes: "512x512",
        type: "image/png",
        purpose: "maskable",
      },
    ],
  };
}
