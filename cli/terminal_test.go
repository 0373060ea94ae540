package cli

import (
	"strings"
	"testing"

	"github.com/judder-obd/judder/prose"
)

func TestASCIIOnly(t *testing.T) {
	for _, c := range []struct {
		all, ctype, lang string
		want             bool
	}{
		{"", "", "", false},
		{"", "", "C", true},
		{"", "", "POSIX", true},
		{"", "", "en_GB.UTF-8", false},
		{"", "", "C.utf8", false},
		{"", "", "de_DE.ISO-8859-1", true},
		{"C", "", "en_GB.UTF-8", true}, // LC_ALL before the others, POSIX.1-2017, 8.2
		{"", "C.UTF-8", "C", false},
	} {
		values := map[string]string{"LC_ALL": c.all, "LC_CTYPE": c.ctype, "LANG": c.lang}
		if got := asciiOnly(func(name string) string { return values[name] }); got != c.want {
			t.Errorf("LC_ALL=%q LC_CTYPE=%q LANG=%q: %v, want %v", c.all, c.ctype, c.lang, got, c.want)
		}
	}
}

// TestPeople: what goes to a file keeps its characters, whatever the locale.
func TestPeople(t *testing.T) {
	var file strings.Builder
	if _, err := people(&file, true).Write([]byte("90 °C\x1b")); err != nil || file.String() != "90 °C?" {
		t.Errorf("%q, %v", file.String(), err)
	}
	var screen strings.Builder
	if _, err := prose.NewWriter(asciiWriter{&screen}).Write([]byte("90 °C")); err != nil || screen.String() != "90  C" {
		t.Errorf("%q, %v", screen.String(), err)
	}
}
