"""The service: what is handed out over HTTP, and the process that keeps it true."""
