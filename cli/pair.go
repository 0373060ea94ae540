package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"judder/check"
)

// The check after a clearing is made over the connection of the check before it, so of the same
// car, whatever is masked. Its file says so, by the time of the check before.
type pairKey struct {
	Same time.Time `json:"same_connection_as"`
}

// saveAfter keeps the check after a clearing, with the time of the one before. It never overwrites.
func saveAfter(path string, before, after *check.Report) (err error) {
	text, err := json.MarshalIndent(after, "", "  ")
	if err != nil {
		return err
	}
	key, err := json.Marshal(pairKey{before.Time})
	if err != nil {
		return err
	}
	whole := fmt.Sprintf("%s,\n  %s\n}\n", strings.TrimRight(strings.TrimSuffix(string(text), "}"), "\n"), key[1:len(key)-1])
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	switch {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%s exists already and is not overwritten; the check after the clearing is not kept, make a new judder check", path)
	case err != nil:
		return fmt.Errorf("the check after the clearing is not kept: %w; make a new judder check", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err := f.WriteString(whole); err != nil {
		return fmt.Errorf("the check after the clearing is not kept whole: %w", err)
	}
	return f.Sync()
}

// compareChecks puts two checks side by side; with the one rule for whether they are of the same car:
// made over one connection, or by their identification numbers.
func compareChecks(before, after *check.Report, oneConnection bool) *check.Comparison {
	c := check.Compare(before, after)
	if oneConnection && !strings.HasPrefix(c.SameCar, "NO") {
		c.SameConnection()
	}
	return &c
}

// pairOf tells whether one of two kept checks says that it was made over the connection of the other.
func pairOf(pathA string, a *check.Report, pathB string, b *check.Report) bool {
	return madeAfter(pathA, b) || madeAfter(pathB, a)
}

func madeAfter(path string, before *check.Report) bool {
	text, err := os.ReadFile(path)
	var key pairKey
	return err == nil && json.Unmarshal(text, &key) == nil && !key.Same.IsZero() && key.Same.Equal(before.Time)
}
