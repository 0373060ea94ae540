package obdtest

import (
	"encoding/hex"
	"strings"
	"testing"

	"github.com/judder-obd/judder/obd/reply"
)

// BundleLine is a reply of the engine's ECU with engine speed and road speed.
const BundleLine = "7E806410C1AF80D64"

// UnhexAll is the bytes of a hex text; spaces do not count.
func UnhexAll(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// LineWith is a reply line that shows a status text where it belongs.
func LineWith(s *reply.Status) string {
	switch {
	case s.Place == reply.Suffix:
		return BundleLine + s.Text
	case s.Place == reply.Prefix && s.Action == reply.ActNothing:
		return s.Text + BundleLine
	case s.Text == "ERR":
		return "ERR94"
	case s.Text == "ELM":
		return "ELM327 v1.5"
	}
	return s.Text
}
