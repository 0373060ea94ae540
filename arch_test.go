package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// rooms says which of our own packages a package may import, and why no more. Tests are
// free: they may look into any room. A new package needs a row.
var rooms = map[string]struct {
	may []string
	why string
}{
	".":                 {[]string{"cli", "tui/noquery"}, "main parses nothing and wires nothing; cli does"},
	"cli":               {[]string{everything}, "the only place that wires rooms together"},
	"cli/remember":      {nil, "a small file of the user's choices; it knows no car"},
	"tui":               {[]string{"session", "session/complaint", "detect", "detect/cause", "detect/slip", "detect/steps", "pids", "pids/vehicle", "obd", "obd/reply", "obd/elm", "obd/adapter", "obd/drive", "obd/inquiry", "tui/noquery", "tui/wave"}, "the screen pulls a Snapshot, with its words for link and findings; it opens no file and no port"},
	"tui/wave":          {nil, "a pure picture: readings in, text out"},
	"tui/noquery":       {nil, "it must be initialised before bubbletea, so it imports os alone"},
	"session":           {[]string{"obd", "obd/redact", "obd/reply", "obd/elm", "obd/adapter", "obd/drive", "obd/inquiry", "check", "check/page", "check/read", "pids", "pids/dtc", "pids/monitor", "pids/refusal", "pids/vehicle", "detect", "detect/cause", "detect/slip", "detect/steps", "session/chance", "session/complaint", "session/recording", "session/table"}, "the pump knows sources and sinks, neither screen nor port"},
	"session/chance":    {nil, "exact tests on counts; what is counted is no matter of theirs"},
	"session/complaint": {[]string{"detect"}, "a box of operating conditions; the detector alone says what is warm and what is judged"},
	"session/table":     {[]string{"pids"}, "columns hold readings; who made them, and what they show, is no matter of theirs"},
	"session/parquet":   {[]string{"session/table"}, "another form of the same table"},
	"session/recording": {[]string{"obd", "pids"}, "the file holds exchanges and readings; what they mean is decided after it is read"},
	"detect":            {[]string{"detect/series", "pids"}, "the detector knows samples, not adapters, so a replay finds what the drive found"},
	"detect/bench":      {[]string{"detect", "pids", "simcar/drivetrain"}, "it measures the detector on samples, with no adapter between"},
	"detect/series":     {[]string{"pids"}, "readings in order of time; what they show is decided elsewhere"},
	"detect/slip":       {[]string{"detect", "detect/series", "pids", "pids/vehicle"}, "it judges slip in the seconds that the detector judges"},
	"detect/steps":      {[]string{"detect", "detect/series", "pids"}, "it recognises steps in samples, and compares the detector's events with and without them"},
	"detect/cause":      {[]string{"detect", "detect/steps"}, "the ledger is pure: it weighs what it is given, events and steps"},
	"pids":              {nil, "what a parameter's bytes mean depends on nothing else"},
	"pids/dtc":          {[]string{"pids"}, "a code's snapshot holds parameters; a parameter holds no code"},
	"pids/identity":     {[]string{"pids"}, "it shares the error of a reply's bytes, and nothing more"},
	"pids/monitor":      {[]string{"pids"}, "it shares the error of a reply's bytes, and nothing more"},
	"pids/refusal":      {nil, "a table of words"},
	"pids/vehicle":      {[]string{"pids"}, "a profile describes further parameters; the standard's need no profile"},
	"obd":               {[]string{"prose"}, "values alone: what everything about the dialogue speaks of"},
	"obd/reply":         {[]string{"obd", "obd/isotp", "pids", "prose", "pids/vehicle"}, "reading is pure: text in, messages and readings out"},
	"obd/redact":        {[]string{"obd", "obd/reply", "pids/identity"}, "it reads what was decoded, and decodes nothing itself"},
	"obd/elm":           {[]string{"obd", "obd/reply", "prose"}, "the only writers to a link; they know what a whole reply is, and no more of the car"},
	"obd/schedule":      {[]string{"obd", "obd/reply", "pids", "pids/vehicle"}, "what to ask next follows from what came back; no link, no clock"},
	"obd/adapter":       {[]string{"obd", "obd/reply", "obd/elm", "obd/schedule", "pids", "pids/vehicle", "prose"}, "one connection to one adapter; it is handed a link and opens none"},
	"obd/drive":         {[]string{"obd", "obd/reply", "obd/elm", "obd/schedule", "obd/adapter", "pids", "pids/vehicle"}, "the loop of a drive stands on the connection"},
	"obd/inquiry":       {[]string{"obd", "obd/reply", "obd/elm", "obd/schedule", "obd/adapter", "obd/traffic", "pids", "pids/refusal", "prose"}, "questions stand on the connection, as a drive does"},
	"obd/obdtest":       {[]string{"obd", "obd/reply", "obd/elm", "obd/link", "pids", "simcar"}, "what the tests of obd's rooms share"},
	"obd/isotp":         {nil, "reassembly is pure"},
	"obd/traffic":       {[]string{"obd", "obd/reply"}, "counting what was heard is pure: lines in, ids out"},
	"check":             {[]string{"pids", "pids/dtc", "pids/refusal"}, "the report of a code check is values; who read it does not matter"},
	"check/read":        {[]string{"check", "check/triage", "obd", "obd/reply", "obd/elm", "obd/adapter", "obd/drive", "obd/inquiry", "pids", "pids/dtc", "pids/identity", "pids/monitor", "pids/vehicle"}, "it asks through the gate and fills a report; no screen, no port"},
	"check/triage":      {[]string{"check", "pids/dtc"}, "pure: it weighs a report, however that came to be"},
	"check/compare":     {[]string{"check", "pids/dtc"}, "pure: two reports side by side"},
	"check/losses":      {[]string{"check", "pids/dtc"}, "pure: what clearing takes, by a report"},
	"check/page":        {[]string{"check", "check/compare", "check/losses", "pids/dtc"}, "words for people; it asks and weighs nothing"},
	"obd/link":          {nil, "one byte stream, whoever speaks over it"},
	"simcar":            {[]string{"simcar/drivetrain"}, "its encoders are its own, so that a bug shared with the decoders cannot hide"},
	"simcar/drivetrain": {nil, "physics, and no opinion on how it is read"},
	"simcar/serve":      {[]string{"simcar", "simcar/drivetrain"}, "a command around the simulated car"},
	"casefile":          {[]string{"check", "session", "session/complaint", "session/recording"}, "one car's folder is made of results, not of screens"},
	"casefile/report":   {[]string{"casefile", "check", "check/compare", "check/page", "detect", "detect/cause", "detect/steps", "pids", "pids/identity", "session", "session/chance", "session/complaint", "tui/wave"}, "a paper shows what the case holds, with the wave that the screen shows; it opens nothing"},
	"fixtures":          {nil, "data only"},
	"prose":             {nil, "how things are written depends on nothing that is written"},
}

// openToAll are rooms that any other may import: pure, and no room of the main job.
var openToAll = []string{"prose"}

// everything stands for every package of ours.
const everything = "*"

// libraries says which room may import a library, and why no other. A new library needs a
// row; tests may import what they like.
var libraries = []struct {
	prefix string
	in     []string
	why    string
}{
	{"github.com/alecthomas/kong", []string{"cli"}, "the command line is read in one place"},
	{"github.com/charmbracelet/bubbles", []string{"tui"}, "only tui draws"},
	{"github.com/charmbracelet/bubbletea", []string{"tui"}, "only tui draws; a change of its major version stays in one room"},
	{"github.com/charmbracelet/lipgloss", []string{"tui"}, "only tui draws"},
	{"github.com/charmbracelet/x/ansi", []string{"prose", "tui"}, "prose measures and wraps text for a terminal, tui cuts it"},
	{"github.com/charmbracelet/x/term", []string{"simcar", "tui"}, "the simulated car sets its pseudo-terminal raw; tui asks how wide a terminal is"},
	{"github.com/creack/pty", []string{"simcar"}, "only the simulated car opens pseudo-terminals"},
	{"github.com/guptarohit/asciigraph", []string{"tui"}, "it panics on empty and infinite data; one wrapper guards it"},
	{"github.com/muesli/termenv", []string{"tui"}, "only tui draws"},
	{"github.com/parquet-go/parquet-go", []string{"session/parquet"}, "it is half of the program's size; one room keeps it replaceable"},
	{"github.com/pelletier/go-toml/v2", []string{"casefile", "pids/vehicle", "cli/remember", "session/table"}, "what people write by hand is TOML"},
	{"go.bug.st/serial", []string{"obd/link"}, "its traps are guarded there"},
	{"golang.org/x/image", []string{"casefile"}, "only the copies of a case's photos are scaled"},
	{"gonum.org/v1/gonum", []string{"detect/bench"}, "the detector's own sums are checked against it, so it may not use it"},
}

// clocks are what would read a clock or wait for one.
var clocks = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker"}

// TestImportsRunOneWay holds rooms and libraries. Files are parsed, not listed by the tool
// chain, so those for other systems are seen too.
func TestImportsRunOneWay(t *testing.T) {
	seen := 0
	for _, f := range goFiles(t) {
		if f.test {
			continue
		}
		for _, s := range f.syntax.Imports {
			imported, err := strconv.Unquote(s.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			seen++
			if complaint := checkImport(f.dir, imported); complaint != "" {
				t.Errorf("%s: %s", f.name, complaint)
			}
		}
	}
	if seen < 100 {
		t.Errorf("%d imports seen; the test looks in the wrong place", seen)
	}
}

// checkImport returns what is wrong with the package in dir importing another; "" when nothing is.
func checkImport(dir, imported string) string {
	room, ok := rooms[dir]
	if !ok {
		return fmt.Sprintf("no row for package %s in rooms", dir)
	}
	if ours, ok := strings.CutPrefix(imported, "github.com/judder-obd/judder/"); ok {
		if slices.Contains(openToAll, ours) || slices.Contains(room.may, ours) || slices.Contains(room.may, everything) {
			return ""
		}
		return fmt.Sprintf("%s may not import %s: %s", dir, ours, room.why)
	}
	if first, _, _ := strings.Cut(imported, "/"); !strings.Contains(first, ".") {
		return "" // the standard library
	}
	for _, l := range libraries {
		if imported != l.prefix && !strings.HasPrefix(imported, l.prefix+"/") {
			continue
		}
		if slices.Contains(l.in, dir) {
			return ""
		}
		return fmt.Sprintf("%s may not import %s: %s", dir, imported, l.why)
	}
	return fmt.Sprintf("no row for library %s in libraries", imported)
}

// TestImportsRunOneWay_Seen: the check sees what it is there for.
func TestImportsRunOneWay_Seen(t *testing.T) {
	for _, c := range []struct {
		dir, imported string
		ok            bool
	}{
		{"detect", "github.com/judder-obd/judder/pids", true},
		{"detect", "time", true},
		{"cli", "github.com/judder-obd/judder/obd/link", true},
		{"obd/link", "go.bug.st/serial/enumerator", true},
		{"detect", "github.com/judder-obd/judder/obd", false},
		{"pids", "github.com/judder-obd/judder/obd/isotp", false},
		{"pids", "github.com/judder-obd/judder/pids/dtc", false},
		{"session", "github.com/judder-obd/judder/tui", false},
		{"simcar", "github.com/judder-obd/judder/obd", false},
		{"tui/noquery", "github.com/judder-obd/judder/tui", false},
		{"session", "github.com/charmbracelet/bubbletea", false},
		{"cli", "go.bug.st/serial", false},
		{"cli", "example.com/unlisted", false},
		{"utils", "os", false},
	} {
		if got := checkImport(c.dir, c.imported); (got == "") != c.ok {
			t.Errorf("%s importing %s: %q", c.dir, c.imported, got)
		}
	}
}

// TestDetectAndPidsReadNoClock: time comes in with the data, so a replay is the drive.
func TestDetectAndPidsReadNoClock(t *testing.T) {
	for _, f := range goFiles(t) {
		if f.test || f.dir != "detect" && f.dir != "pids" && path.Dir(f.dir) != "pids" {
			continue
		}
		for _, name := range clockReads(f.syntax) {
			t.Errorf("%s: time.%s; take the time from the sample", f.name, name)
		}
	}
	const source = "package p\nimport \"time\"\nvar a, b = time.Now(), time.Second"
	f, err := parser.ParseFile(token.NewFileSet(), "p.go", source, 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := clockReads(f); !slices.Equal(got, []string{"Now"}) {
		t.Errorf("the check sees %v in %q, want Now", got, source)
	}
}

func clockReads(f *ast.File) (names []string) {
	ast.Inspect(f, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok && slices.Contains(clocks, s.Sel.Name) {
			if of, ok := s.X.(*ast.Ident); ok && of.Name == "time" {
				names = append(names, s.Sel.Name)
			}
		}
		return true
	})
	return names
}

// TestOnlyTheAdapterTestListens: the bus is listened to in one place, the test of an adapter. A code
// check, a clearing and a drive never do it.
func TestOnlyTheAdapterTestListens(t *testing.T) {
	callers := map[string][]string{
		"Examine": {"cli/adapter.go"}, "listen": {"obd/inquiry/examine.go"}, "Hear": {"obd/inquiry/listen.go"},
	}
	seen := map[string]bool{}
	for _, f := range goFiles(t) {
		if f.test || path.Dir(f.name) == "simcar" {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			if s, ok := call.Fun.(*ast.SelectorExpr); ok && callers[s.Sel.Name] != nil {
				seen[s.Sel.Name] = true
				if !slices.Contains(callers[s.Sel.Name], f.name) && !slices.Contains(callers[s.Sel.Name], f.dir) {
					t.Errorf("%s calls %s, which listens to the bus", f.name, s.Sel.Name)
				}
			}
			return true
		})
	}
	if len(seen) != len(callers) {
		t.Errorf("calls seen: %v; the test looks in the wrong place", seen)
	}
}

// goFile is a Go file of the module, parsed.
type goFile struct {
	name, dir string // with slashes, from the root of the module
	test      bool
	syntax    *ast.File
	set       *token.FileSet
}

func (f *goFile) line(p token.Pos) int { return f.set.Position(p).Line }

// goFiles are all Go files of the module, parsed once for all tests.
func goFiles(t *testing.T) []goFile {
	t.Helper()
	files, err := parsedFiles()
	if err != nil {
		t.Fatal(err)
	}
	return files
}

var parsedFiles = sync.OnceValues(func() (files []goFile, err error) {
	names, err := listFiles()
	if err != nil {
		return nil, err
	}
	set := token.NewFileSet()
	for _, name := range names {
		if path.Ext(name) != ".go" {
			continue
		}
		syntax, err := parser.ParseFile(set, name, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		files = append(files, goFile{name: name, dir: path.Dir(name), test: strings.HasSuffix(name, "_test.go"), syntax: syntax, set: set})
	}
	return files, nil
})

// projectFiles are the files of the module, with slashes, without what the version control
// and the build left there.
func projectFiles(t *testing.T) []string {
	t.Helper()
	names, err := listFiles()
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func listFiles() (names []string, err error) {
	err = fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == ".git" || d.Name() == "corpus" || d.Name() == "fuzz"):
			return fs.SkipDir
		case d.IsDir() && strings.HasPrefix(name, "tui/testdata/start-"): // a program that a test of tui has built meanwhile
			return fs.SkipDir
		case d.Type().IsRegular():
			names = append(names, name)
		}
		return nil
	})
	return names, err
}
