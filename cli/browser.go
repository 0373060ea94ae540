package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// browsers are the names under which systems have a Chromium browser.
var browsers = []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "/Applications/Chromium.app/Contents/MacOS/Chromium"}

// findBrowser is a Chromium browser of this computer; "" when there is none.
func findBrowser() string {
	for _, name := range browsers {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// printing is how long a browser may take to print a paper.
const printing = time.Minute

// printPDF has a browser print a HTML file. The browser gets a folder of its own for its settings,
// and no name that it could look up.
func printPDF(ctx context.Context, browser, html string) (pdf []byte, err error) {
	ctx, cancel := context.WithTimeout(ctx, printing)
	defer cancel()
	dir, err := os.MkdirTemp("", "judder-pdf-")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	whole, err := filepath.Abs(html)
	if err != nil {
		return nil, err
	}
	out := filepath.Join(dir, "paper.pdf")
	args := []string{"--headless", "--disable-gpu", "--no-first-run", "--disable-extensions", "--disable-background-networking", "--host-resolver-rules=MAP * ~NOTFOUND",
		"--user-data-dir=" + filepath.Join(dir, "settings"), "--no-pdf-header-footer", "--print-to-pdf=" + out}
	if os.Geteuid() == 0 {
		args = append(args, "--no-sandbox") // Chromium refuses to run as root with one
	}
	cmd := exec.CommandContext(ctx, browser, append(args, (&url.URL{Scheme: "file", Path: filepath.ToSlash(whole)}).String())...)
	cmd.WaitDelay = 5 * time.Second
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("%s did not print it: %w%s", browser, err, lastLine(said.String()))
	}
	pdf, err = os.ReadFile(out)
	if err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		return nil, fmt.Errorf("%s made no PDF%s", browser, lastLine(said.String()))
	}
	return pdf, nil
}

// lastLine is the last line that a program said, in brackets.
func lastLine(said string) string {
	said = strings.TrimSpace(said)
	if said == "" {
		return ""
	}
	return " (" + said[strings.LastIndexByte(said, '\n')+1:] + ")"
}
