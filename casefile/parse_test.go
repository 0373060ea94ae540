package casefile

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/judder-obd/judder/prose"
)

// Whatever case.toml holds, reading it ends with a case whose names stay in the folder or with an
// error that steers no terminal, and what was read can be written and read again.
func FuzzParse(f *testing.F) {
	c := Case{Version: Version, Opened: noon, Complaint: Complaint{Speed: "60-70 km/h"}, Repairs: []Repair{{Rung: RungFluid, Done: noon}},
		Looks: []Look{{At: noon, Kind: FluidLevel, Fluid: &Fluid{AtC: 54, FromC: 50, ToC: 60}}},
		Files: []File{{Name: "drives/a.jsonl", Kind: Drive, Stage: Before, Added: noon, SHA256: strings.Repeat("0", 64)}}}
	text, err := c.text()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(text))
	f.Add("version = 1\n[[file]]\nname = \"../x\"")
	f.Add("version = 2\nx = 1")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := parse("case.toml", []byte(text))
		if err != nil {
			if strings.ContainsFunc(err.Error(), prose.Steers) {
				t.Fatalf("%q", err)
			}
			return
		}
		for i := range c.Files {
			if !filepath.IsLocal(filepath.FromSlash(c.Files[i].Name)) {
				t.Fatalf("name %q", c.Files[i].Name)
			}
		}
		again, err := c.text()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := parse("case.toml", again); err != nil {
			t.Fatalf("%v\n%s", err, again)
		}
	})
}
