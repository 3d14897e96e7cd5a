//! The tokens of a macro as the code that they most often are.

use proc_macro2::TokenStream;
use syn::parse::{ParseStream, Parser};
use syn::punctuated::Punctuated;
use syn::{Block, Expr, Pat, Stmt, Token};

/// What a macro is given.
pub enum Given {
    /// As to `format!` and `assert!`.
    Expressions(Vec<Expr>),
    /// As to `matches!`.
    Pattern(Box<(Expr, Pat, Option<Expr>)>),
    /// As to `vec!` with a count.
    Statements(Vec<Stmt>),
    /// Words that only the macro understands.
    Words,
}

/// Reads the tokens of a macro.
pub fn given(tokens: &TokenStream) -> Given {
    if let Ok(parts) = expressions.parse2(tokens.clone()) {
        Given::Expressions(parts)
    } else if let Ok(parts) = matching.parse2(tokens.clone()) {
        Given::Pattern(Box::new(parts))
    } else if let Ok(statements) = Block::parse_within.parse2(tokens.clone()) {
        Given::Statements(statements)
    } else {
        Given::Words
    }
}

fn expressions(input: ParseStream) -> syn::Result<Vec<Expr>> {
    let parts = Punctuated::<Expr, Token![,]>::parse_terminated(input)?;
    Ok(parts.into_iter().collect())
}

fn matching(input: ParseStream) -> syn::Result<(Expr, Pat, Option<Expr>)> {
    let of = input.parse()?;
    input.parse::<Token![,]>()?;
    let pattern = Pat::parse_multi_with_leading_vert(input)?;
    let guard = match input.parse::<Option<Token![if]>>()? {
        Some(_) => Some(input.parse()?),
        None => None,
    };
    input.parse::<Option<Token![,]>>()?;
    Ok((of, pattern, guard))
}
