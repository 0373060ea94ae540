package link

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// tree is the folder where the Linux kernel tells of its devices; tests build one of their
// own. On other systems there is none, and nothing is found in it.
type tree string

const sysfs tree = "/sys"

// ttyOf is the kernel's name of a port, through symbolic links such as those under
// /dev/serial/by-id; "" when there is no such path.
func ttyOf(path string) string {
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return ""
	}
	return filepath.Base(real)
}

// line is the text in a file of one line; "" when it cannot be read.
func line(elem ...string) string {
	text, err := os.ReadFile(filepath.Join(elem...))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(text))
}

// number is the decimal number in a file of one line.
func number(file string) (int, bool) {
	n, err := strconv.Atoi(line(file))
	return n, err == nil
}
