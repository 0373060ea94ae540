package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// The paper that a case is ready for is the one after the work once it is repaired and tested again.
func TestReport_Ready(t *testing.T) {
	out := filepath.Join(t.TempDir(), "paper.html")
	code, text, said := typed(t, "", "report", fixtureCase, "--out", out, "--text")
	if code != exitOK || !strings.Contains(text, "After the work") || !strings.Contains(said, "number plates") {
		t.Errorf("%d %s%s", code, text, said)
	}
	if page, err := os.ReadFile(out); err != nil || !bytes.HasPrefix(page, []byte("<!DOCTYPE html>")) || !bytes.Contains(page, []byte("After the work")) {
		t.Errorf("%v", err)
	}
	if code, _, said := typed(t, "", "report", fixtureCase, "--out", out); code != exitFailed || !strings.Contains(said, "nothing is overwritten") {
		t.Errorf("written twice: %d %s", code, said)
	}
	if _, text, _ := typed(t, "", "report", fixtureCase, "--before-work", "--text"); !strings.Contains(text, "Before the work") || strings.Contains(text, "2026-11-24") {
		t.Error(text)
	}
	dir := filepath.Join(t.TempDir(), "car")
	must(t, "case", "new", dir)
	if text, _ := must(t, "report", dir, "--text"); !strings.Contains(text, "Before the work") || !strings.Contains(text, "No road test") {
		t.Error(text)
	}
}

func TestReport_Usage(t *testing.T) {
	for _, args := range [][]string{{}, {"--before-work", "--done", "--text"}, {"--pdf", "--text"}, {"--out", "a.pdf", "--pdf"}, {"--out", "a.html", "--sheet", "A0"}} {
		if code, _, said := typed(t, "", append([]string{"report", fixtureCase}, args...)...); code != exitUsage || !strings.Contains(said, "--") {
			t.Errorf("%q: %d %s", args, code, said)
		}
	}
	if code, _, said := typed(t, "", "report", t.TempDir(), "--text"); code != exitFailed || !strings.Contains(said, "judder case new") {
		t.Errorf("no case: %d %s", code, said)
	}
}

// Without a browser, or with one that fails, the HTML is there and the message says how to print it.
func TestReport_PDF(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the browsers of this test are shell scripts")
	}
	tmp := t.TempDir()
	script := func(name, text string) string {
		path := filepath.Join(tmp, name)
		if err := os.WriteFile(path, []byte("#!/bin/sh\n"+text+"\n"), 0o700); err != nil {
			t.Fatal(err)
		}
		return path
	}
	const write = `for a in "$@"; do case "$a" in --print-to-pdf=*) printf '%s' "$TEXT" >"${a#--print-to-pdf=}";; esac; done`
	for _, c := range []struct {
		name, browser, want string
		exit                int
	}{
		{"none", "", "no Chromium browser was found", exitFailed},
		{"missing", filepath.Join(tmp, "nowhere"), "print it to PDF", exitFailed},
		{"fails", script("fails", "echo 'no display\x1b[2J' >&2; exit 3"), "no display", exitFailed},
		{"writes nonsense", script("nonsense", "TEXT=hello; "+write), "made no PDF", exitFailed},
		{"writes a PDF", script("good", "TEXT=%PDF-1.4; "+write), "the PDF is in", exitOK},
	} {
		t.Run(c.name, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "paper.html")
			args := []string{"report", fixtureCase, "--out", out, "--pdf"}
			if c.browser == "" {
				t.Setenv("PATH", "")
			} else {
				args = append(args, "--browser", c.browser)
			}
			code, _, said := typed(t, "", args...)
			if code != c.exit || !strings.Contains(said, c.want) {
				t.Errorf("%d %s", code, said)
			}
			if _, err := os.Stat(out); err != nil {
				t.Error("the HTML is not there")
			}
			if pdf, err := os.ReadFile(strings.TrimSuffix(out, ".html") + ".pdf"); (err == nil) != (c.exit == exitOK) || err == nil && string(pdf) != "%PDF-1.4" {
				t.Errorf("PDF %q, %v", pdf, err)
			}
		})
	}
}

// A case of a newer judder is read: its paper can be made, and nothing writes to it.
func TestReport_NewerCase(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	must(t, "case", "new", dir, "--says", "hums")
	path := filepath.Join(dir, "case.toml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text = append([]byte("later = 1\n"), bytes.Replace(text, []byte("version = 1"), []byte("version = 2"), 1)...)
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"report", dir, "--text"}, {"case", "show", dir}, {"case", "list", dir}} {
		if code, out, said := typed(t, "", args...); code != exitOK {
			t.Errorf("%q: %d %s%s", args, code, out, said)
		}
	}
	for _, args := range [][]string{{"case", "add", dir}, {"case", "look", dir, "tyres"}, {"case", "ask", dir, "--for", "x"}, {"case", "repair", dir, "fluid"}, {"drive", "--case", dir, "--port", inMemory}, {"check", "--case", dir, "--port", inMemory}} {
		if code, _, said := typed(t, "", args...); code != exitFailed || !strings.Contains(said, "newer judder") {
			t.Errorf("%q: %d %s", args, code, said)
		}
	}
	if now, err := os.ReadFile(path); err != nil || !bytes.Equal(now, text) {
		t.Errorf("a newer case was written to: %v", err)
	}
}
