//! The client of each kind of store.

use std::fs;
use std::sync::Arc;
use std::time::Duration;

use object_store::aws::AmazonS3Builder;
use object_store::azure::MicrosoftAzureBuilder;
use object_store::gcp::GoogleCloudStorageBuilder;
use object_store::local::LocalFileSystem;
use object_store::path::Path;
use object_store::prefix::PrefixStore;
use object_store::{ClientOptions, ObjectStore, RetryConfig};
use rustls::crypto::ring;

use crate::access::Access;
use crate::error::LakeError;
use crate::place::Service;

/// A day of readings over a slow line takes minutes.
const REQUEST: Duration = Duration::from_secs(300);
const CONNECT: Duration = Duration::from_secs(10);
/// A store that is away for longer is the caller's to try again later.
const TRY_AGAIN_FOR: Duration = Duration::from_secs(20);

pub(crate) fn open(access: &Access) -> Result<Arc<dyn ObjectStore>, LakeError> {
    // Refused if the program has chosen one already, which is as good.
    let _ = ring::default_provider().install_default();
    let place = &access.place;
    let failed =
        |error: object_store::Error| LakeError::Settings { place: place.to_string(), detail: error.to_string() };
    let store: Arc<dyn ObjectStore> = match &place.service {
        Service::Folder(folder) => {
            let store = LocalFileSystem::new_with_prefix(folder)
                .map_err(|error| LakeError::Nowhere { place: place.to_string(), detail: error.to_string() })?;
            Arc::new(store.with_fsync(true))
        }
        Service::S3(bucket) => Arc::new(s3(access, bucket)?.build().map_err(failed)?),
        Service::Azure(container) => Arc::new(azure(access, container)?.build().map_err(failed)?),
        Service::Google(bucket) => Arc::new(google(access, bucket)?.build().map_err(failed)?),
    };
    if place.prefix.is_empty() {
        return Ok(store);
    }
    Ok(Arc::new(PrefixStore::new(store, Path::from(place.prefix.as_str()))))
}

fn s3(access: &Access, bucket: &str) -> Result<AmazonS3Builder, LakeError> {
    let mut builder =
        AmazonS3Builder::from_env().with_bucket_name(bucket).with_retry(retry()).with_client_options(client(access));
    if let Some(id) = &access.key_id {
        builder = builder.with_access_key_id(id);
    }
    if let Some(key) = key(access)? {
        builder = builder.with_secret_access_key(key);
    }
    if let Some(region) = &access.region {
        builder = builder.with_region(region);
    }
    if let Some(endpoint) = &access.endpoint {
        builder = builder.with_endpoint(endpoint);
    }
    Ok(builder)
}

fn azure(access: &Access, container: &str) -> Result<MicrosoftAzureBuilder, LakeError> {
    let mut builder = MicrosoftAzureBuilder::from_env()
        .with_container_name(container)
        .with_retry(retry())
        .with_client_options(client(access));
    if let Some(account) = &access.key_id {
        builder = builder.with_account(account);
    }
    if let Some(key) = key(access)? {
        builder = builder.with_access_key(key);
    }
    if let Some(endpoint) = &access.endpoint {
        builder = builder.with_endpoint(endpoint.clone());
    }
    Ok(builder)
}

fn google(access: &Access, bucket: &str) -> Result<GoogleCloudStorageBuilder, LakeError> {
    let mut builder = GoogleCloudStorageBuilder::from_env()
        .with_bucket_name(bucket)
        .with_retry(retry())
        .with_client_options(client(access));
    if let Some(key) = key(access)? {
        builder = builder.with_service_account_key(key);
    }
    if let Some(endpoint) = &access.endpoint {
        builder = builder.with_base_url(endpoint);
    }
    Ok(builder)
}

/// Plain HTTP only to an address that was written as such.
fn client(access: &Access) -> ClientOptions {
    let plain = access.endpoint.as_ref().is_some_and(|endpoint| endpoint.starts_with("http://"));
    ClientOptions::new().with_timeout(REQUEST).with_connect_timeout(CONNECT).with_allow_http(plain)
}

fn retry() -> RetryConfig {
    RetryConfig { max_retries: 4, retry_timeout: TRY_AGAIN_FOR, ..RetryConfig::default() }
}

fn key(access: &Access) -> Result<Option<String>, LakeError> {
    let Some(file) = &access.key_file else { return Ok(None) };
    let text = fs::read_to_string(file).map_err(|source| LakeError::KeyFile { file: file.clone(), source })?;
    Ok(Some(text.trim().to_owned()))
}
