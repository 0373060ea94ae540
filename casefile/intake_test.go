package casefile

import (
	"slices"
	"testing"
)

// What can be read of an answer counts, and the rest is named: nothing is guessed, and no part overrules
// another. The answers are invented.
func TestComplaint_Box(t *testing.T) {
	for _, c := range []struct {
		said   Complaint
		box    string
		unread []string
	}{
		{Complaint{Words: "at 65 mph", Speed: "60-70 km/h, light", Engine: "warm"}, "60-70 km/h light warm", nil},
		{Complaint{Speed: "around 110 km/h", Load: "heavy, uphill"}, "105-115 km/h heavy", []string{"uphill"}},
		{Complaint{Load: "not heavy"}, "", []string{"not heavy"}},
		{Complaint{Load: "light, heavy,"}, "light", []string{"heavy"}},
		{Complaint{Speed: "60-70 light", Load: "heavy"}, "60-70 km/h light", []string{"heavy"}},
		{Complaint{Speed: "60-70 light", Load: "light"}, "60-70 km/h light", nil},
		{Complaint{Speed: "fast"}, "", []string{"fast"}},
	} {
		if box, unread := c.said.Box(); box.String() != c.box || !slices.Equal(unread, c.unread) {
			t.Errorf("%+v: %q, not read %q", c.said, box.String(), unread)
		}
	}
}
