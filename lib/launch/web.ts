import { createServer, type Server } from "node:http";
import next from "next";
import { answerMetrics } from "./metrics";
import { observed } from "./observe";
import { StartError } from "./start-error";

export type WebServer = { readonly port: number; readonly stop: () => Promise<void> };

/** Takes the port first, so that a port in use is said before anything slow begins. */
export async function reservePort(host: string, port: number): Promise<Server> {
  const server = createServer();
  await new Promise<void>((resolve, reject) => {
    server.once("error", (error: NodeJS.ErrnoException) => {
      reject(
        error.code === "EADDRINUSE"
          ? new StartError(
              `port ${port} on ${host} is in use: stop what uses it, or set PORT to another`,
            )
          : new StartError(`cannot listen on ${host}:${port}: ${error.message}`),
      );
    });
    server.listen(port, host, () => resolve());
  });
  // Until the pages are ready, a visitor is told to wait rather than left hanging.
  server.on("request", startingUp);
  return server;
}

function startingUp(_request: unknown, response: import("node:http").ServerResponse): void {
  response.writeHead(503, { "content-type": "text/plain", "retry-after": "2" });
  response.end("Starting. Try again in a moment.\n");
}

/** Serves the application on the reserved port. */
export async function serveWeb(
  server: Server,
  options: {
    readonly projectRoot: string;
    readonly isDev: boolean;
    readonly host: string;
    readonly metricsToken: string | null;
  },
): Promise<WebServer> {
  const address = server.address();
  const port = typeof address === "object" && address ? address.port : 0;
  const app = next({
    dev: options.isDev,
    dir: options.projectRoot,
    hostname: options.host,
    port,
    httpServer: server,
  });
  await app.prepare();
  const handle = app.getRequestHandler();
  server.off("request", startingUp);
  const answer = observed((request, response) =>
    request.url === "/api/metrics"
      ? answerMetrics(request, response, options.metricsToken)
      : handle(request, response),
  );
  server.on("request", (request, response) => void answer(request, response));
  return {
    port,
    stop: async () => {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      server.closeIdleConnections();
      const impatience = setTimeout(() => server.closeAllConnections(), 2_000);
      await closed;
      clearTimeout(impatience);
      await app.close();
    },
  };
}
