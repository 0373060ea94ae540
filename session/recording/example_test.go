package recording_test

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/session/recording"
)

// A session is written entry by entry and read back, here after a power cut in the middle
// of a line.
func Example() {
	dir, err := os.MkdirTemp("", "recording")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = os.RemoveAll(dir) }()
	path := filepath.Join(dir, "drive.jsonl")

	w, err := recording.Create(path, recording.Header{Adapter: "simulated v1.0"})
	if err != nil {
		fmt.Println(err)
		return
	}
	entries := []recording.Entry{
		recording.OfExchange(obd.Exchange{
			Sent: 44950 * time.Millisecond, Request: "010C", Done: 45 * time.Second,
			Lines: []obd.Line{{At: 44990 * time.Millisecond, Text: "410C1AF8"}},
		}),
		recording.Note(46*time.Second, "uphill"),
	}
	for _, e := range entries {
		if err := w.Append(e); err != nil {
			fmt.Println(err) // once; the session goes on
		}
	}
	if err := os.Truncate(path, 243); err != nil { // instead of w.Close
		fmt.Println(err)
	}

	r, err := recording.Open(path)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = r.Close() }() // read only
	for r.Next() {
		e := r.Entry()
		fmt.Println(e.At, e.Kind, e.Exchange.Request, e.Exchange.Lines[0].Text)
	}
	damage := r.Damage()
	fmt.Println(damage.String())
	if err := r.Err(); err != nil {
		fmt.Println(err)
	}
	// Output:
	// 45s x 010C 410C1AF8
	// no end after 45 s: still being recorded, or broken off; the last line is torn (12 bytes, left out)
}
