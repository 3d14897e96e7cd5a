//! Paths among the tokens of an attribute, or of a macro that does not read as code.

use super::load::word;
use super::modules::Space;
use proc_macro2::{Delimiter, TokenStream, TokenTree};
use syn::{LitStr, Path};

/// A path, its line, and what it can be.
pub type Found = (Vec<String>, usize, Space);

/// Everything that can be a path; a single word only where it looks like a type, a constant, a
/// call or a macro.
pub fn paths(tokens: TokenStream) -> Vec<Found> {
    let mut found = Vec::new();
    gather(tokens, &mut found);
    found
}

fn gather(tokens: TokenStream, found: &mut Vec<Found>) {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    let mut at = 0;
    let mut after_dot = false;
    while let Some(token) = tokens.get(at) {
        match token {
            TokenTree::Group(group) => gather(group.stream(), found),
            TokenTree::Ident(_) => {
                let (path, next) = read(&tokens, at);
                let outer = at >= 2 && colons(&tokens, at - 2);
                if !after_dot && let Some(space) = space(&path, tokens.get(next)) {
                    let line = token.span().start().line;
                    let leading = outer.then(String::new);
                    let whole = leading.into_iter().chain(path).collect();
                    found.push((whole, line, space));
                }
                at = next;
                after_dot = false;
                continue;
            }
            _ => {}
        }
        after_dot = matches!(token, TokenTree::Punct(p) if p.as_char() == '.');
        at += 1;
    }
}

/// Texts that can be paths, as serde's attributes have them.
pub fn texts(tokens: TokenStream) -> Vec<Path> {
    let parts = tokens.into_iter().map(|token| match token {
        TokenTree::Group(group) => texts(group.stream()),
        TokenTree::Literal(_) => {
            let text = syn::parse2::<LitStr>(token.into());
            let path = text.and_then(|text| text.parse());
            path.into_iter().collect()
        }
        _ => Vec::new(),
    });
    parts.flatten().collect()
}

/// Whether `::` stands here.
fn colons(tokens: &[TokenTree], at: usize) -> bool {
    let colon =
        |at: usize| matches!(tokens.get(at), Some(TokenTree::Punct(p)) if p.as_char() == ':');
    colon(at) && colon(at + 1)
}

/// The path that starts here, and the place behind it.
fn read(tokens: &[TokenTree], start: usize) -> (Vec<String>, usize) {
    let mut path = vec![word(&tokens[start])];
    let mut at = start + 1;
    while colons(tokens, at) {
        let Some(TokenTree::Ident(name)) = tokens.get(at + 2) else {
            break;
        };
        path.push(word(name));
        at += 3;
    }
    (path, at)
}

fn space(path: &[String], next: Option<&TokenTree>) -> Option<Space> {
    if path.len() > 1 {
        return Some(Space::ANY);
    }
    match next {
        Some(TokenTree::Punct(p)) if p.as_char() == '!' => Some(Space::MACRO),
        Some(TokenTree::Punct(p)) if p.as_char() == ':' => None,
        Some(TokenTree::Group(group)) if group.delimiter() == Delimiter::Parenthesis => {
            Some(Space::VALUE)
        }
        _ => path[0]
            .starts_with(char::is_uppercase)
            .then_some(Space::ANY),
    }
}
