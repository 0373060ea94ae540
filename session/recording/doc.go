// Package recording is the file of a session: JSON Lines, one entry a line, each line
// sealed with its own checksum.
package recording
