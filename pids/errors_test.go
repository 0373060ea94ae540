package pids

import (
	"fmt"
	"strings"
	"testing"
)

// An error names its place, so that a person finds it in the raw line.
func TestErrors_NameThePlace(t *testing.T) {
	_, short := Lookup(0x0C).Append(nil, []byte{1})
	_, other := ParseFreezeFrame(unhex(t, "42 0D 00 64 0C 01 1A F8"), 0x0C, 0x0D)
	for _, c := range []struct {
		err  error
		want []string
	}{
		{short, []string{"$0C", "byte 1"}},
		{other, []string{"freeze frame", "byte 5"}},
	} {
		for _, w := range c.want {
			if !strings.Contains(fmt.Sprint(c.err), w) {
				t.Errorf("%v does not name %s", c.err, w)
			}
		}
	}
}
