// Package casefile keeps one car's case as a folder of plain files: what the customer said, what
// was seen, what was driven and read, what was repaired. Everything in it can be read without
// judder; docs/case.md describes it.
//
//	DIR/case.toml    the case, and one row for each file
//	DIR/car.key      a secret of this case: makes a digest of the car's number that says "same car"
//	DIR/drives       recordings
//	DIR/checks       code checks
//	DIR/photos       photos as they came; photos/small has copies for the report
//	DIR/papers       anything else
//
// A file is first written under another name and then renamed, so a crash leaves the old file or
// the new one. No name in case.toml can lead out of the folder.
package casefile
