//! The sheet and the tables as files, one exporter a file.
