package adapter

import (
	"testing"

	"github.com/judder-obd/judder/obd"
)

// What is left over in front of an echo does not make the echo the adapter's name.
func TestVersionText(t *testing.T) {
	for want, lines := range map[string][]string{
		"ELM327 v1.5": {"ATI", "ELM327 v1.5"}, "ELM327 v2.1": {"?", "ELM327 v2.1"}, "": {"ATI"},
		"ELM327 v1.4": {"7E806410C1A960D10AA", "ELM327 v1.4"}, // a late reply of the car
	} {
		x := obd.Exchange{Request: "ATI"}
		for _, l := range lines {
			x.Lines = append(x.Lines, obd.Line{Text: l})
		}
		if got := versionText(&x); got != want {
			t.Errorf("%q: %q, want %q", lines, got, want)
		}
	}
}
