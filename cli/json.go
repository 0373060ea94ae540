package cli

import (
	"encoding/json"
	"io"
	"unicode/utf8"

	"github.com/judder-obd/judder/prose"
)

// writeJSON writes one value on one line. The encoder escapes the control characters below
// U+0020; the others that steer a terminal are escaped here.
func writeJSON(w io.Writer, v any) error {
	line, err := json.Marshal(v)
	if err != nil {
		return err
	}
	out := make([]byte, 0, len(line)+1)
	for _, r := range string(line) {
		if !prose.Steers(r) {
			out = utf8.AppendRune(out, r)
			continue
		}
		const hex = "0123456789abcdef"
		out = append(out, '\\', 'u', hex[r>>12&15], hex[r>>8&15], hex[r>>4&15], hex[r&15])
	}
	_, err = w.Write(append(out, '\n'))
	return err
}
