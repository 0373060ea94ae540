package bench

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
)

// WriteCSV writes a drive as lines of time_s,signal,value, which judder imports: an error of
// the bench can be replayed as a recording.
func (d *Drive) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	if err := c.Write([]string{"time_s", "signal", "value"}); err != nil {
		return err
	}
	for _, s := range d.Samples {
		line := []string{
			strconv.FormatFloat(s.At.Seconds(), 'f', 6, 64), string(s.Signal), strconv.FormatFloat(s.Value, 'g', -1, 64),
		}
		if err := c.Write(line); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// unsafe is what does not belong in a file name.
var unsafe = regexp.MustCompile(`[^a-z0-9]+`)

// Save writes a drive into a folder, made if need be, named after its scene and asking, and
// returns the file's path.
func (d *Drive) Save(folder string) (path string, err error) {
	name := unsafe.ReplaceAllString(d.Key()+"/"+d.Asking.Name, "-") + ".csv"
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return "", fmt.Errorf("save drive: %w", err)
	}
	path = filepath.Join(folder, name)
	f, err := os.Create(path)
	if err != nil {
		return "", fmt.Errorf("save drive: %w", err)
	}
	w := bufio.NewWriter(f)
	err = d.WriteCSV(w)
	if err == nil {
		err = w.Flush()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return "", fmt.Errorf("save drive %s: %w", path, err)
	}
	return path, nil
}
