package recording

import (
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"
)

// A recording that is removed or moved while it is written is written again whole; where that cannot be
// done, it goes on in the moved file.
func TestWriter_RemovedOrMoved(t *testing.T) {
	for name, c := range map[string]struct {
		meddle func(t *testing.T, dir, path string) (lies string)
		want   Place
	}{
		"nothing": {func(_ *testing.T, _, path string) string { return path }, InPlace},
		"removed": {func(t *testing.T, _, path string) string { must(t, os.Remove(path)); return path }, Rewritten},
		"moved":   {func(t *testing.T, dir, path string) string { must(t, os.Rename(path, dir+"/b")); return path }, Rewritten},
		"folder renamed": {func(t *testing.T, dir, path string) string {
			must(t, os.Rename(dir, dir+"2"))
			return filepath.Join(dir+"2", filepath.Base(path))
		}, Lost},
		"folder renamed and back": {func(t *testing.T, dir, path string) string {
			must(t, os.Rename(dir, dir+"2"))
			time.Sleep(3 * time.Second)
			must(t, os.Rename(dir+"2", dir))
			return path
		}, InPlace},
		"another in its place": {func(t *testing.T, dir, path string) string {
			must(t, os.Rename(path, dir+"/b"))
			must(t, os.WriteFile(path, []byte("another"), 0o600))
			return dir + "/b"
		}, Lost},
	} {
		for _, late := range []bool{false, true} { // just before the end
			synctest.Test(t, func(t *testing.T) {
				dir := filepath.Join(t.TempDir(), "drives")
				must(t, os.Mkdir(dir, 0o700))
				path := filepath.Join(dir, "a.jsonl")
				w, err := Create(path, Header{})
				must(t, err)
				for i := range 100 {
					must(t, w.Append(Felt(time.Duration(i)*time.Second)))
				}
				lies := c.meddle(t, dir, path)
				if !late {
					time.Sleep(3 * time.Second)
					if got := w.Place(); got != c.want {
						t.Errorf("%s: while recording: %d, want %d", name, got, c.want)
					}
				}
				must(t, w.Append(Felt(101*time.Second)))
				must(t, w.Close(WhyUser))
				if got := w.Place(); got != c.want {
					t.Errorf("%s: at the end: %d, want %d", name, got, c.want)
				}
				text, err := os.ReadFile(lies)
				must(t, err)
				if r := load(t, text); len(r.Entries) != 101 || r.Damage.Any() {
					t.Errorf("%s: %d entries, damage %+v", name, len(r.Entries), r.Damage)
				}
			})
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
