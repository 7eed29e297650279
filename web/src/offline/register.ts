// Starts the service worker where the browser allows one: over TLS or on this machine.

export function startWorker(): void {
  if (!import.meta.env.PROD || !("serviceWorker" in navigator) || !isSecureContext) return;
  void navigator.serviceWorker.register("/sw.js", { scope: "/", updateViaCache: "none" }).catch(() => {
    // Without it the page works while there is a server.
  });
}
