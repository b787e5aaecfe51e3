//! Markup that cannot be broken from outside.
//!
//! Names of products, lines and shifts come from the plant. Text and attribute values are escaped on
//! their way in and there is no other way in, so none of them can become markup.

use std::fmt::{self, Display, Write};

/// Elements that have no content and no end tag.
const VOID: [&str; 3] = ["link", "meta", "br"];

/// An element of HTML or of SVG inside it.
#[derive(Debug, Clone)]
pub(crate) struct Element {
    name: &'static str,
    attributes: String,
    content: String,
}

impl Element {
    /// An empty element.
    pub(crate) fn new(name: &'static str) -> Self {
        Self { name, attributes: String::new(), content: String::new() }
    }

    /// An element with a class and a text, the most frequent kind.
    pub(crate) fn of(name: &'static str, class: &'static str, text: impl Display) -> Self {
        Self::new(name).class(class).text(text)
    }

    /// Sets an attribute.
    pub(crate) fn attribute(mut self, name: &'static str, value: impl Display) -> Self {
        self.attributes.push(' ');
        self.attributes.push_str(name);
        self.attributes.push_str("=\"");
        escape_into(&mut self.attributes, value);
        self.attributes.push('"');
        self
    }

    /// Sets the class.
    pub(crate) fn class(self, class: impl Display) -> Self {
        self.attribute("class", class)
    }

    /// Adds text.
    pub(crate) fn text(mut self, text: impl Display) -> Self {
        escape_into(&mut self.content, text);
        self
    }

    /// Adds an element.
    pub(crate) fn child(mut self, child: Element) -> Self {
        // Writing to a String cannot fail.
        let _ = write!(self.content, "{child}");
        self
    }

    /// Adds elements, or one that may be absent.
    pub(crate) fn children(self, children: impl IntoIterator<Item = Element>) -> Self {
        children.into_iter().fold(self, Self::child)
    }
}

impl Display for Element {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { name, attributes, content } = self;
        if VOID.contains(name) {
            return write!(formatter, "<{name}{attributes}>");
        }
        write!(formatter, "<{name}{attributes}>{content}</{name}>")
    }
}

/// Escapes all that goes through it.
struct Escaping<'a>(&'a mut String);

impl Write for Escaping<'_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for letter in text.chars() {
            match letter {
                '&' => self.0.push_str("&amp;"),
                '<' => self.0.push_str("&lt;"),
                '>' => self.0.push_str("&gt;"),
                '"' => self.0.push_str("&quot;"),
                '\'' => self.0.push_str("&#39;"),
                letter => self.0.push(letter),
            }
        }
        Ok(())
    }
}

fn escape_into(out: &mut String, value: impl Display) {
    // Writing to a String cannot fail.
    let _ = write!(Escaping(out), "{value}");
}

#[cfg(test)]
mod tests {
    use super::Element;

    #[test]
    fn text_and_attributes_cannot_become_markup() {
        let hostile = r#"<script>alert("x" & 'y')</script>"#;
        let escaped = "&lt;script&gt;alert(&quot;x&quot; &amp; &#39;y&#39;)&lt;/script&gt;";
        let element = Element::new("p").attribute("title", hostile).text(hostile);
        assert_eq!(element.to_string(), format!("<p title=\"{escaped}\">{escaped}</p>"));
    }

    #[test]
    fn elements_nest_and_void_elements_do_not_end() {
        let list = Element::new("ul").children([Element::of("li", "a", 1), Element::new("br")]);
        assert_eq!(list.to_string(), "<ul><li class=\"a\">1</li><br></ul>");
    }
}
