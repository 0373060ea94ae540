package report

import (
	"crypto/sha256"
	_ "embed" // the template and its style
	"encoding/base64"
	"html/template"
	"io"
	"slices"
	"strings"
)

//go:embed paper.gohtml
var pageText string

//go:embed paper.css
var styleText string

// pageTemplate is the template of a paper. html/template escapes every text for the place where it goes.
var pageTemplate = template.Must(template.New("paper").Funcs(template.FuncMap{
	"jpeg": func(b []byte) template.URL { // made of bytes of ours, so it is no address of somebody else
		return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(b))
	},
	"long": func(cell string) bool { // a word that no column has room for, such as a hash
		return slices.ContainsFunc(strings.Fields(cell), func(word string) bool { return len(word) > longWord })
	},
}).Parse(pageText))

// longWord is how long a word of a table may be before it is broken, in bytes.
const longWord = 24

// sheets are the sizes of a printed page that a paper can ask for.
var sheets = map[string]string{"": "", "A4": "@page { size: A4; }\n", "Letter": "@page { size: letter; }\n"}

// Sheets are the names of the sizes that a printed page can have.
var Sheets = []string{"A4", "Letter"}

// WriteHTML writes the paper as one HTML file. Its content policy allows its own style and pictures
// in it, and nothing else: no script, nothing fetched.
func (p *Paper) WriteHTML(out io.Writer) error {
	style := "\n" + sheets[p.Sheet] + styleText
	sum := sha256.Sum256([]byte(style))
	return pageTemplate.Execute(out, struct {
		*Paper
		Style  template.CSS
		Policy string
	}{p, template.CSS(style), "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; img-src data:; base-uri 'none'; form-action 'none'"})
}
