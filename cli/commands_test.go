package cli

import (
	"encoding/json"
	"io"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"
	"unicode/utf8"

	"github.com/judder-obd/judder/pids/vehicle"
)

// Every command that --help names answers --help itself, and with nothing given a command
// either does its work or says what it wants.
func TestEveryCommand(t *testing.T) {
	_, help, _ := judder(t, "--help")
	_, list, ok := strings.Cut(help, "Commands:\n")
	if !ok {
		t.Fatalf("no list of commands in %s", help)
	}
	needs := map[string]string{"drive": "--port", "adapter": "--port", "check": "--port", "clear": "--port", "compare": "<before>", "replay": "FILE", "import": "--out", "review": "FILE", "export": "FILE", "picture": "FILE", "demo": "", "ports": "", "forget": "", "version": "", "completion": "<shell>", "case": "new", "report": "<dir>"}
	seen := 0
	for line := range strings.Lines(list) {
		fields := strings.Fields(line)
		if len(fields) == 0 {
			break
		}
		if strings.HasPrefix(line, "   ") {
			continue // the rest of a text that is longer than the line
		}
		command := fields[0]
		want, known := needs[command]
		if !known {
			t.Errorf("%s is tested nowhere", command)
		}
		seen++
		if code, stdout, stderr := judder(t, command, "--help"); code != exitOK || !strings.Contains(stdout, "Usage: judder "+command) || stderr != "" {
			t.Errorf("%s --help: %d: %s%s", command, code, stdout, stderr)
		}
		if command == "demo" {
			continue // without flags it opens a screen
		}
		code, stdout, stderr := judder(t, command)
		switch {
		case want == "" && code != exitOK:
			t.Errorf("%s: %d: %s", command, code, stderr)
		case want != "" && (code != exitUsage || stdout == "" && stderr == "" || !strings.Contains(stderr, want)):
			t.Errorf("%s without anything: %d: %s", command, code, stderr)
		}
	}
	if seen != len(needs) {
		t.Errorf("%d commands listed, %d known", seen, len(needs))
	}
	if code, stdout, _ := judder(t); code != exitOK || !strings.Contains(stdout, "Commands:") {
		t.Errorf("no command: %d", code)
	}
}

// The demo without a screen: standard output holds one JSON object and nothing else, and
// what was recorded reviews alike.
func TestDemo_Headless(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		out := filepath.Join(t.TempDir(), "demo.jsonl")
		code, stdout, stderr := judderOn(t, nil, "", "demo", "--headless", "--for", "4s", "--json", "--out", out)
		var r report
		if err := json.Unmarshal([]byte(stdout), &r); err != nil || code != exitOK || r.File != out {
			t.Fatalf("%d, %v: %s%s", code, err, stdout, stderr)
		}
		for _, want := range []string{"the car answers", "judder replay " + out} {
			if !strings.Contains(stderr, want) {
				t.Errorf("standard error does not say %q: %s", want, stderr)
			}
		}
		if again := reviewJSON(t, out); again.Duration != r.Duration || again.Verdict != r.Verdict || again.Damage != "" {
			t.Errorf("review %+v, the demo said %+v", again, r)
		}
		before, _ := os.ReadFile(out)
		if code, _, stderr := judderOn(t, nil, "", "demo", "--headless", "--for", "1s", "--out", out); code != exitFailed || !strings.Contains(stderr, "never overwritten") {
			t.Errorf("onto a file that is there: %d: %s", code, stderr)
		}
		if after, err := os.ReadFile(out); err != nil || string(after) != string(before) || len(before) == 0 {
			t.Error("the recording was changed")
		}
	})
}

// A port that opens and never answers does not look like one that cannot be opened, and leaves no
// recording behind.
func TestDrive_NothingBehindThePort(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		silent := farEnd(func(c net.Conn) { _, _ = io.Copy(io.Discard, c) })
		out := filepath.Join(t.TempDir(), "silent.jsonl")
		began := time.Now()
		code, stdout, stderr := judderOn(t, silent, "", "drive", "--port", inMemory, "--headless", "--for", "2s", "--out", out)
		if code != exitFailed || stdout != "" || !strings.Contains(stderr, "no readings from the car") || !strings.Contains(stderr, "nothing answers") {
			t.Errorf("%d: %s%s", code, stdout, stderr)
		}
		if took := time.Since(began); took > 3*time.Second {
			t.Errorf("--for 2s took %v", took)
		}
		if _, err := os.Stat(out); err == nil {
			t.Error("a recording of nothing was left behind")
		}
	})
}

// What answers and hangs up, as the server of a web page does, is no adapter: what to check is said.
func TestDrive_HungUp(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = l.Close() }()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			_, _ = c.Read(make([]byte, 64))
			_, _ = io.WriteString(c, "HTTP/1.1 400 Bad Request\r\nConnection: close\r\n\r\n")
			_ = c.Close()
		}
	}()
	out := filepath.Join(t.TempDir(), "none.jsonl")
	code, _, stderr := judder(t, "drive", "--port", "tcp://"+l.Addr().String(), "--headless", "--for", "1m", "--out", out)
	if code != exitFailed || !strings.Contains(stderr, "check host and port") || !strings.Contains(stderr, l.Addr().String()) {
		t.Errorf("%d: %s", code, stderr)
	}
}

// Flags that parse and cannot be meant are refused before anything is opened, with what to type.
func TestRefused(t *testing.T) {
	for _, c := range []struct{ args, want string }{
		{"drive --port /dev/none --baud 0", "38400"}, {"adapter --port /dev/none --baud=-1", "38400"}, {"check --port /dev/none --baud 0", "38400"},
		{"drive --port tcp:/10.0.0.1:35000", "tcp://10.0.0.1:35000"}, {"adapter --port 192.168.0.10", "tcp://192.168.0.10:PORT"},
		{"drive --port TCP:10.0.0.1", "tcp://10.0.0.1:PORT"}, {"drive --port fe80::1", "tcp://[fe80::1]:PORT"},
	} {
		code, _, stderr := judder(t, strings.Fields(c.args)...)
		if code != exitUsage || !strings.Contains(stderr, c.want) || strings.Contains(stderr, "Ports on this computer") || strings.Contains(stderr, "judder ports") {
			t.Errorf("%s: %d: %s", c.args, code, stderr)
		}
	}
}

// A serial speed with an address in the network is said to be ignored, by every command that takes one.
func TestBaud_OnANetwork(t *testing.T) {
	for _, command := range []string{"drive", "adapter", "check"} {
		args := []string{command, "--port", "tcp://127.0.0.1:1"}
		if command == "drive" {
			args = append(args, "--headless", "--out", filepath.Join(t.TempDir(), "x.jsonl"))
		}
		if _, _, said := judder(t, append(args, "--baud", "38400")...); strings.Count(said, "--baud 38400 is ignored") != 1 {
			t.Errorf("%s: %s", command, said)
		}
		if _, _, said := judder(t, args...); strings.Contains(said, "--baud") {
			t.Errorf("%s without a speed: %s", command, said)
		}
	}
}

// A network has no serial speed, however its address is written.
func TestSpeeds(t *testing.T) {
	for port, want := range map[string]int{"tcp://10.0.0.1:35000": 0, "TCP://10.0.0.1:35000": 0, "/dev/ttyUSB0": 38400} {
		if got := speeds(port, 38400); len(got) != 1 || got[0] != want {
			t.Errorf("%s: %v", port, got)
		}
	}
}

// What is wrong with a command line is reported without the parser's own words.
func TestParseWords(t *testing.T) {
	args := [][]string{{"drive", "--port"}, {"replay", "--speed", "-1"}, {"replay", "--speed", "x", "f"},
		{"demo", "--seed", "x"}, {"demo", "--fps", "x"}, {"demo", "--for", "x"}}
	parser := []string{"EOL", "short flag", "bit int", "bit uint", "float", "duration"}
	for _, args := range args {
		code, _, said := judder(t, args...)
		if code != exitUsage || slices.ContainsFunc(parser, func(w string) bool { return strings.Contains(said, w) }) {
			t.Errorf("%q: %d %s", args, code, said)
		}
	}
}

// The vehicle profiles that the documents show are such, and one has every part that there is.
func TestDocs_Profile(t *testing.T) {
	text, err := os.ReadFile("../docs/profile.md")
	if err != nil {
		t.Fatal(err)
	}
	whole := false
	blocks := strings.Split(string(text), "```toml\n")[1:]
	for _, block := range blocks {
		block, _, _ = strings.Cut(block, "```")
		p, err := vehicle.ParseProfile("profile.md", []byte(block))
		if err != nil {
			t.Errorf("%v in\n%s", err, block)
			continue
		}
		slip := slices.ContainsFunc(p.Parameters, func(p vehicle.Parameter) bool { return p.Role == vehicle.RoleSlip })
		whole = whole || slip && len(p.Modules) > 0 && p.Driveline.FinalDrive > 0
	}
	if !whole {
		t.Errorf("none of %d profiles has every part", len(blocks))
	}
}

// A file's name need not be UTF-8: on Linux it is any bytes but 0 and a slash (POSIX.1-2017, Base
// Definitions, 3.170). What is printed of it is text all the same.
func TestFileName_NotUTF8(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("this system takes UTF-8 alone")
	}
	const name = "z\xff.jsonl"
	dir := inFolder(t, map[string]string{"a.csv": "time_s,RPM\n0,800\n0.1,801\n"})
	out := filepath.Join(dir, name)
	if code, _, stderr := judder(t, "import", filepath.Join(dir, "a.csv"), "--out", out); code != exitOK || !utf8.ValidString(stderr) {
		t.Fatalf("%d, %q", code, stderr)
	}
	if _, err := os.Stat(out); err != nil {
		t.Error(err)
	}
	for _, args := range [][]string{{"review", out}, {"review", "--json", out}, {"export", out}} {
		if code, stdout, stderr := judder(t, args...); code != exitOK || !utf8.ValidString(stdout+stderr) {
			t.Errorf("%q: %d, %q%q", args, code, stdout, stderr)
		}
	}
}
