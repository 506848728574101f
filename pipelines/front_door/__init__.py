"""What `import rangeledger` offers: exports, homes and models for a notebook, without a server."""
