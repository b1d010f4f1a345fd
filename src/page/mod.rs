//! The only code that knows a browser: files, workers, the document, canvases.
